#include "scenarios/label_image.hpp"

#include <fmt/format.h>

namespace torsowave::scenarios {

void check_map_size(double nx, double ny)
{
  if (!(nx >= 1.0) || !(ny >= 1.0)) {
    throw LabelFileError("file",
                         fmt::format("has {:g} x {:g} pixels, nothing to read", nx, ny));
  }
  if (nx > max_map_side || ny > max_map_side ||
      nx * ny > static_cast<double>(max_map_pixels)) {
    throw LabelFileError(
        "file", fmt::format("has {:.6g} x {:.6g} pixels; accepted are {} in a row and {} "
                            "million in all: make its pixels larger, or cut the air off",
                            nx, ny, max_map_side, max_map_pixels >> 20U));
  }
}

int chosen_slice(const LabelSource& source, int count)
{
  if (!source.slice && count > 1) {
    throw LabelFileError(
        "slice", fmt::format("is missing: the file holds {} slices; write one of 0 to {}",
                             count, count - 1));
  }
  const int slice = source.slice.value_or(0);
  if (slice >= count) {
    throw LabelFileError(
        "slice", count == 1 ? "the file holds one slice, 0"
                            : fmt::format("{} is beyond the last of {} slices; write one "
                                          "of 0 to {}",
                                          slice, count, count - 1));
  }
  return slice;
}

LabelImage read_label_image(const LabelSource& source)
{
  if (!source.inside.empty()) {
    return read_label_hdf5(source);
  }
  const std::string name = source.file.filename().string();
  if (name.ends_with(".nii") || name.ends_with(".nii.gz")) {
    return read_label_nifti(source);
  }
  static_cast<void>(chosen_slice(source, 1));
  return read_label_picture(source.file);
}

}  // namespace torsowave::scenarios
