/// \file
/// \brief Label maps as their files hold them: whole numbers on a grid of pixels.

#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "geometry/points.hpp"

namespace torsowave::scenarios {

/// Untrusted files are read with limits.
inline constexpr int max_map_side = 16'384;                 ///< pixels
inline constexpr std::uint64_t max_map_pixels = 1U << 26U;  ///< of a slice, 8192 x 8192
inline constexpr std::uint64_t max_map_bytes = 1U << 31U;   ///< of a volume's voxels

/// Direction that a slice of a volume is taken across.
enum class SliceAxis { x, y, z };

/// One slice of a file.
struct LabelSource {
  std::filesystem::path file;
  std::string inside;        ///< path of the array within an HDF5 file; else empty
  std::optional<int> slice;  ///< counted from 0 as stored
  SliceAxis axis = SliceAxis::z;
};

/// Labels of a slice: +x to the right, +y up, as the scenario's slice is drawn.
struct LabelImage {
  int nx = 0;
  int ny = 0;
  std::vector<std::int32_t>
      labels;            ///< (ny, nx), row 0 at the lowest y; colours 0xrrggbb
  bool colour = false;   ///< labels are colours
  double pixel_x = 0.0;  ///< [m]; 0: the file does not tell
  double pixel_y = 0.0;  ///< [m]
  std::optional<geometry::Point> corner;  ///< lower left, in the file's coordinates [m]
  std::map<std::int32_t, std::string> names;  ///< of labels, if the file has a table
  std::vector<std::string> notes;             ///< what was assumed
};

/// A file that is no label map, is damaged, or has not what is asked of it.
class LabelFileError : public std::runtime_error {
public:
  /// \param key  of label_map that is at fault, e.g. "file"
  LabelFileError(std::string key, const std::string& problem)
      : std::runtime_error(problem), key_(std::move(key))
  {
  }
  [[nodiscard]] const std::string& key() const noexcept { return key_; }

private:
  std::string key_;
};

/// Reads a slice: HDF5 if the source names an array inside, NIfTI-1 by the file's name
/// (.nii, .nii.gz), else a picture. \throws LabelFileError
[[nodiscard]] LabelImage read_label_image(const LabelSource& source);

/// A picture (PNG, ISO/IEC 15948; BMP): grey values, or colours as 0xrrggbb. Its
/// first row is the front, its left the patient's right. \throws LabelFileError
[[nodiscard]] LabelImage read_label_picture(const std::filesystem::path& file);

/// A slice of a volume (NIfTI-1: R. W. Cox et al., "A (sort of) new image data format
/// standard: NIfTI-1", 2004; header nifti1.h), turned by its orientation: across z +x is
/// left and +y anterior, across y left and superior, across x anterior and superior.
/// \throws LabelFileError
[[nodiscard]] LabelImage read_label_nifti(const LabelSource& source);

/// An array of integers (y, x) or (z, y, x), y and x ascending. \throws LabelFileError
[[nodiscard]] LabelImage read_label_hdf5(const LabelSource& source);

/// \throws LabelFileError  A slice of that many pixels is beyond the limits, or has none.
void check_map_size(double nx, double ny);

/// The slice to take of `count`. \throws LabelFileError  It is missing or beyond the
/// last.
[[nodiscard]] int chosen_slice(const LabelSource& source, int count);

}  // namespace torsowave::scenarios
