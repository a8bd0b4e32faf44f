#include <fmt/format.h>
#include <nifti1_io.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <memory>
#include <numbers>
#include <sstream>
#include <string_view>
#include <utility>

#include "scenarios/label_image.hpp"
#include "scenarios/nifti_header.hpp"

namespace torsowave::scenarios {
namespace {

struct NiftiFree {
  void operator()(nifti_image* image) const { nifti_image_free(image); }
};
using NiftiImage = std::unique_ptr<nifti_image, NiftiFree>;

/// How the voxels lie to the patient, each axis along the nearest one of the world, whose
/// x goes to the right, y to the front and z up.
struct Placement {
  std::array<std::size_t, 3> voxel_axis{0, 1, 2};   ///< by world axis
  std::array<bool, 3> ascending{true, true, true};  ///< by world axis
  std::array<double, 3> size{};                     ///< of a voxel, by world axis [m]
  std::array<double, 3> lowest{};  ///< the volume's corner, by world axis [m]
  bool known = false;              ///< the file tells orientation and place
};

[[nodiscard]] double unit_of(const nifti_image& image, LabelImage& notes)
{
  switch (image.xyz_units) {
    case NIFTI_UNITS_METER:
      return 1.0;
    case NIFTI_UNITS_MM:
      return 1e-3;
    case NIFTI_UNITS_MICRON:
      return 1e-6;
    case NIFTI_UNITS_UNKNOWN:
      notes.notes.emplace_back("the file names no unit of length: millimetres assumed");
      return 1e-3;
    default:
      throw LabelFileError(
          "file", fmt::format("is damaged: unknown unit of length {}", image.xyz_units));
  }
}

/// Takes an axis that is off by more than this [deg] for none of the world's.
constexpr double most_oblique = 10.0;
constexpr double worth_a_note = 0.1;

/// Places the axes by the columns of the matrix from voxels to the world; what has no
/// direction (one voxel, size 0) takes the axis that is left.
[[nodiscard]] Placement place(const mat44& matrix, const NiftiShape& shape,
                              LabelImage& notes)
{
  Placement placed;
  std::array<bool, 3> taken{};
  std::array<bool, 3> done{};
  double worst = 0.0;
  for (std::size_t c = 0; c < 3; ++c) {
    std::array<double, 3> column{};
    for (std::size_t k = 0; k < 3; ++k) {
      column.at(k) = static_cast<double>(matrix.m[k][c]);
    }
    const double length = std::hypot(column[0], column[1], column[2]);
    if (!(length > 0.0) && shape.voxels.at(c) == 1) {
      continue;
    }
    std::size_t w = 0;
    for (std::size_t k = 1; k < 3; ++k) {
      w = std::abs(column.at(k)) > std::abs(column.at(w)) ? k : w;
    }
    const double off = std::acos(std::min(1.0, std::abs(column.at(w)) / length)) * 180.0 /
                       std::numbers::pi;
    if (!(length > 0.0) || !std::isfinite(length) || taken.at(w) ||
        !(off <= most_oblique)) {
      throw LabelFileError(
          "file", fmt::format("lies askew: a voxel axis is {:.1f} deg off the "
                              "patient's, accepted are {} deg; resample it along "
                              "the patient's axes",
                              off, most_oblique));
    }
    worst = std::max(worst, off);
    taken.at(w) = done.at(c) = true;
    placed.voxel_axis.at(w) = c;
    placed.ascending.at(w) = column.at(w) > 0.0;
    placed.size.at(w) = length;
    const auto begin = static_cast<double>(matrix.m[w][3]);
    const double end = begin + column.at(w) * (shape.voxels.at(c) - 1);
    placed.lowest.at(w) = std::min(begin, end) - 0.5 * length;
  }
  for (std::size_t c = 0; c < 3; ++c) {
    if (!done.at(c)) {
      const auto w =
          static_cast<std::size_t>(std::ranges::find(taken, false) - taken.begin());
      taken.at(w) = true;
      placed.voxel_axis.at(w) = c;
    }
  }
  if (worst > worth_a_note) {
    notes.notes.push_back(fmt::format(
        "the file's axes are up to {:.1f} deg off the patient's: taken as if along them",
        worst));
  }
  return placed;
}

[[nodiscard]] Placement placement_of(const nifti_image& image, const NiftiShape& shape,
                                     LabelImage& notes)
{
  const double unit = unit_of(image, notes);
  mat44 matrix{};
  const bool known = image.sform_code > 0 || image.qform_code > 0;
  if (known) {
    matrix = image.sform_code > 0 ? image.sto_xyz : image.qto_xyz;
  } else {
    matrix.m[0][0] = image.dx;
    matrix.m[1][1] = image.dy;
    matrix.m[2][2] = image.dz;
    notes.notes.emplace_back(
        "the file tells no orientation: its first axis is taken to go to the patient's "
        "right, its second to the front");
  }
  Placement placed = place(matrix, shape, notes);
  placed.known = known;
  for (std::size_t w = 0; w < 3; ++w) {
    placed.size.at(w) *= unit;
    placed.lowest.at(w) *= unit;
  }
  return placed;
}

template <class Stored>
[[nodiscard]] std::int32_t label_of(Stored value)
{
  if (!std::in_range<std::int32_t>(value)) {
    throw LabelFileError(
        "file",
        fmt::format("holds the label {}; accepted are -2147483648 to 2147483647", value));
  }
  return static_cast<std::int32_t>(value);
}

template <class Stored>
void take_voxels(const void* data, std::size_t count, std::vector<std::int32_t>& labels)
{
  const auto* values = static_cast<const Stored*>(data);
  labels.reserve(count);
  for (std::size_t n = 0; n < count; ++n) {
    labels.push_back(label_of(values[n]));
  }
}

[[nodiscard]] std::vector<std::int32_t> voxels_of(int type, const void* data,
                                                  std::size_t count)
{
  std::vector<std::int32_t> labels;
  switch (type) {
    case DT_UINT8:
      take_voxels<std::uint8_t>(data, count, labels);
      break;
    case DT_INT8:
      take_voxels<std::int8_t>(data, count, labels);
      break;
    case DT_INT16:
      take_voxels<std::int16_t>(data, count, labels);
      break;
    case DT_UINT16:
      take_voxels<std::uint16_t>(data, count, labels);
      break;
    case DT_INT32:
      take_voxels<std::int32_t>(data, count, labels);
      break;
    case DT_UINT32:
      take_voxels<std::uint32_t>(data, count, labels);
      break;
    case DT_INT64:
      take_voxels<std::int64_t>(data, count, labels);
      break;
    default:
      take_voxels<std::uint64_t>(data, count, labels);
  }
  return labels;
}

/// The slice across one voxel axis, the other two in the file's order.
[[nodiscard]] std::vector<std::int32_t> read_slice(nifti_image& image,
                                                   const NiftiShape& shape,
                                                   std::size_t across, int slice)
{
  std::array<int, 8> dims{image.dim[0], -1, -1, -1, 0, 0, 0, 0};
  std::size_t count = 1;
  for (std::size_t c = 0; c < 3; ++c) {
    if (c == across) {
      dims.at(c + 1) = slice;
    } else {
      count *= static_cast<std::size_t>(shape.voxels.at(c));
    }
  }
  void* read = nullptr;
  const int bytes = nifti_read_collapsed_image(&image, dims.data(), &read);
  const std::unique_ptr<void, decltype(&std::free)> data(read, &std::free);
  const std::size_t wanted = count * static_cast<std::size_t>(shape.bytes);
  if (!data || bytes < 0 || static_cast<std::size_t>(bytes) != wanted) {
    throw LabelFileError("file",
                         "is damaged: its voxels cannot be read to their end; make or "
                         "copy it again");
  }
  return voxels_of(image.datatype, data.get(), count);
}

/// A label table in a comment of the file (extension of code 6): lines of a label and its
/// name, all of them.
void read_names(const nifti_image& image, LabelImage& result)
{
  for (int e = 0; e < image.num_ext; ++e) {
    const nifti1_extension& extension = image.ext_list[e];
    if (extension.ecode != NIFTI_ECODE_COMMENT || extension.esize <= 8) {
      continue;
    }
    const std::string_view whole(extension.edata,
                                 static_cast<std::size_t>(extension.esize) - 8);
    std::istringstream lines(std::string(whole.substr(0, whole.find('\0'))));
    std::map<std::int32_t, std::string> names;
    bool is_table = true;
    for (std::string line; is_table && std::getline(lines, line);) {
      std::istringstream words(line);
      std::int32_t label = 0;
      std::string name;
      is_table = static_cast<bool>(words >> label >> name);
      names.emplace(label, name);
    }
    if (is_table) {
      result.names.merge(names);
    }
  }
}

/// Turns a slice so that it goes along two axes of the world.
void arrange(const std::vector<std::int32_t>& voxels, const NiftiShape& shape,
             const Placement& placed, std::size_t across_x, std::size_t across_y,
             LabelImage& image)
{
  const std::size_t cx = placed.voxel_axis.at(across_x);
  const std::size_t cy = placed.voxel_axis.at(across_y);
  const bool to_the_left = across_x == 0;  // the world's x goes to the right
  const bool turn_x = placed.ascending.at(across_x) == to_the_left;
  const bool turn_y = !placed.ascending.at(across_y);
  image.nx = shape.voxels.at(cx);
  image.ny = shape.voxels.at(cy);
  const auto width = static_cast<std::size_t>(cx < cy ? image.nx : image.ny);
  image.labels.reserve(voxels.size());
  for (int j = 0; j < image.ny; ++j) {
    const auto row = static_cast<std::size_t>(turn_y ? image.ny - 1 - j : j);
    for (int i = 0; i < image.nx; ++i) {
      const auto column = static_cast<std::size_t>(turn_x ? image.nx - 1 - i : i);
      image.labels.push_back(
          voxels[cx < cy ? row * width + column : column * width + row]);
    }
  }
  image.pixel_x = placed.size.at(across_x);
  image.pixel_y = placed.size.at(across_y);
  if (placed.known) {
    const double low = placed.lowest.at(across_x);
    image.corner = {to_the_left ? -(low + image.nx * image.pixel_x) : low,
                    placed.lowest.at(across_y)};
  }
}

}  // namespace

LabelImage read_label_nifti(const LabelSource& source)
{
  const NiftiShape shape = check_nifti_header(source.file);
  nifti_set_debug_level(0);  // it would write to standard error
  const NiftiImage file(nifti_image_read(source.file.c_str(), 0));
  if (!file) {
    throw LabelFileError("file", "is damaged: its header cannot be read");
  }
  LabelImage image;
  const Placement placed = placement_of(*file, shape, image);
  const auto across = static_cast<std::size_t>(source.axis);
  const std::size_t voxel_axis = placed.voxel_axis.at(across);
  const std::size_t horizontal = across == 0 ? 1 : 0;
  const std::size_t vertical = across == 2 ? 1 : 2;
  check_map_size(shape.voxels.at(placed.voxel_axis.at(horizontal)),
                 shape.voxels.at(placed.voxel_axis.at(vertical)));
  const int slice = chosen_slice(source, shape.voxels.at(voxel_axis));
  arrange(read_slice(*file, shape, voxel_axis, slice), shape, placed, horizontal,
          vertical, image);
  read_names(*file, image);
  return image;
}

}  // namespace torsowave::scenarios
