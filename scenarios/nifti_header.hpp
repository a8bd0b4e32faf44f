/// \file
/// \brief A NIfTI-1 header, checked before the library reads the file.

#pragma once

#include <zlib.h>

#include <array>
#include <filesystem>
#include <memory>
#include <type_traits>

namespace torsowave::scenarios {

struct GzClose {
  void operator()(gzFile file) const { gzclose(file); }
};
/// A file, compressed or not.
using GzHandle = std::unique_ptr<std::remove_pointer_t<gzFile>, GzClose>;

/// What is known once a header is sound.
struct NiftiShape {
  std::array<int, 3> voxels{1, 1, 1};  ///< along the first three axes, >= 1
  int bytes = 0;                       ///< of a voxel
  bool swapped = false;                ///< stored in the other order of bytes
  int data_begin = 0;                  ///< byte at which the voxels begin
};

/// Checks what a hostile or damaged file could lead a reader astray with: magic, sizes,
/// type, scaling, place of the data, extensions, and whether the file can hold its voxels
/// at all. \throws LabelFileError
[[nodiscard]] NiftiShape check_nifti_header(const std::filesystem::path& file);

}  // namespace torsowave::scenarios
