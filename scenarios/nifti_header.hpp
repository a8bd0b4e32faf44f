/// \file
/// \brief A NIfTI-1 header, checked before the library reads the file.

#pragma once

#include <array>
#include <filesystem>

namespace torsowave::scenarios {

/// What is known once a header is sound.
struct NiftiShape {
  std::array<int, 3> voxels{1, 1, 1};  ///< along the first three axes, >= 1
  int bytes = 0;                       ///< of a voxel
};

/// Checks what a hostile or damaged file could lead a reader astray with: magic, sizes,
/// type, scaling, place of the data, extensions, and whether the file can hold its voxels
/// at all. \throws LabelFileError
[[nodiscard]] NiftiShape check_nifti_header(const std::filesystem::path& file);

}  // namespace torsowave::scenarios
