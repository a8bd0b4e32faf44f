/// \file
/// \brief The tissue of each cell as a label map that other programs open: NIfTI-1 or
/// PNG, with a table.

#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "geometry/points.hpp"

namespace torsowave::postproc {

/// Labels of square cells, row 0 at the lowest y.
struct LabelSlice {
  int nx = 0;
  int ny = 0;
  double cell = 0.0;                      ///< [m]
  geometry::Point corner;                 ///< lower left corner of cell (0, 0) [m]
  std::span<const std::uint16_t> labels;  ///< (ny, nx), x fastest; index of the tissue
  std::span<const std::string> tissues;   ///< names; the first is the background
  std::span<const std::string> titles;    ///< for people, in the same order
};

/// Whether a file's name says a form that label maps are written in: .nii, .nii.gz, .png.
[[nodiscard]] bool is_label_file(const std::filesystem::path& file);

/// Writes the labels, and beside them a table with the file's name and .csv in the place
/// of its extension: label, tissue, title, colour, cells, area.
///
/// NIfTI-1 (intent 1002, a label; millimetres; sform and qform): its first axis goes to
/// the patient's right, its second to the front; the table is in a comment, too. PNG:
/// colours of a palette whose index is the label, the front above, the patient's right at
/// the left. \return  the files \throws WriteError  Also for more than 256 tissues in a
/// PNG.
std::vector<std::filesystem::path> export_labels(const LabelSlice& slice,
                                                 const std::filesystem::path& file);

}  // namespace torsowave::postproc
