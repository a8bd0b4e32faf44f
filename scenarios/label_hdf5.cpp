#include <fmt/format.h>

#include <array>
#include <cmath>
#include <limits>

#include "postproc/atomic_file.hpp"
#include "postproc/hdf5_driver.hpp"
#include "postproc/hdf5_heap.hpp"
#include "postproc/hdf5_read.hpp"
#include "postproc/read_error.hpp"
#include "scenarios/label_image.hpp"

namespace torsowave::scenarios {
namespace {

namespace hdf5 = postproc::hdf5;

/// Lengths of an array, slowest index first.
[[nodiscard]] hdf5::Shape lengths_of(hid_t dataset, const std::string& name)
{
  const hdf5::Space space(H5Dget_space(dataset), "H5Dget_space of " + name);
  const int rank = hdf5::check(H5Sget_simple_extent_ndims(space.id()), "rank of " + name);
  if (rank != 2 && rank != 3) {
    throw LabelFileError("file",
                         fmt::format("{} has {} dimensions; accepted are 2 (y, x) "
                                     "and 3 (z, y, x)",
                                     name, rank));
  }
  std::array<hsize_t, 3> lengths{};
  hdf5::check(H5Sget_simple_extent_dims(space.id(), lengths.data(), nullptr),
              "H5Sget_simple_extent_dims");
  return {lengths.begin(), lengths.begin() + rank};
}

void require_integers(hid_t dataset, const std::string& name)
{
  const hdf5::Type type(H5Dget_type(dataset), "H5Dget_type of " + name);
  if (H5Tget_class(type.id()) != H5T_INTEGER) {
    throw LabelFileError(
        "file", fmt::format("{} holds no integers; write labels as integers", name));
  }
}

/// The slice as the file stores it: the slower of its two indices by rows.
[[nodiscard]] std::vector<std::int64_t> read_values(hid_t dataset,
                                                    const std::string& name,
                                                    const hdf5::Shape& shape,
                                                    std::size_t across, int slice)
{
  const hdf5::Space in_file(H5Dget_space(dataset), "H5Dget_space of " + name);
  std::array<hsize_t, 3> start{};
  std::array<hsize_t, 3> count{};
  hsize_t values = 1;
  for (std::size_t d = 0; d < shape.size(); ++d) {
    const bool fixed = shape.size() == 3 && d == across;
    start.at(d) = fixed ? static_cast<hsize_t>(slice) : 0;
    count.at(d) = fixed ? 1 : shape[d];
    values *= count.at(d);
  }
  hdf5::check(H5Sselect_hyperslab(in_file.id(), H5S_SELECT_SET, start.data(), nullptr,
                                  count.data(), nullptr),
              "H5Sselect_hyperslab");
  const hdf5::Space in_memory(H5Screate_simple(1, &values, nullptr), "H5Screate_simple");
  std::vector<std::int64_t> read(values);
  hdf5::check(H5Dread(dataset, H5T_NATIVE_INT64, in_memory.id(), in_file.id(),
                      H5P_DEFAULT, read.data()),
              "H5Dread of " + name);
  return read;
}

void take_labels(const std::vector<std::int64_t>& values, LabelImage& image)
{
  image.labels.reserve(values.size());
  for (const std::int64_t value : values) {
    if (value < std::numeric_limits<std::int32_t>::min() ||
        value > std::numeric_limits<std::int32_t>::max()) {
      throw LabelFileError("file", fmt::format("holds the label {}; accepted are "
                                               "-2147483648 to 2147483647",
                                               value));
    }
    image.labels.push_back(static_cast<std::int32_t>(value));
  }
}

/// Step of evenly spaced coordinates, 0 where they are not. \param low  where they begin
[[nodiscard]] double step_of(hid_t file, const std::string& name, std::size_t count,
                             double& low)
{
  if (count < 2 || hdf5::length_of(file, name, max_map_side) != count) {
    return 0.0;
  }
  const std::vector<double> at = hdf5::read_doubles(file, name, {count});
  const double step = (at.back() - at.front()) / static_cast<double>(count - 1);
  for (std::size_t n = 0; n < count; ++n) {
    const double even = at.front() + step * static_cast<double>(n);
    if (!(std::abs(at[n] - even) < 1e-3 * step)) {
      return 0.0;
    }
  }
  low = at.front() - 0.5 * step;
  return step;
}

/// From the attribute pixel_size [m] (x, y), or the coordinates of a result of ours.
void find_pixel(hid_t file, hid_t dataset, LabelImage& image)
{
  const std::vector<double> size = hdf5::numbers_attribute(dataset, "pixel_size", 2);
  if (!size.empty()) {
    image.pixel_x = size.front();
    image.pixel_y = size.back();
    return;
  }
  if (!hdf5::has(file, "grid") || !hdf5::has(file, "grid/x") ||
      !hdf5::has(file, "grid/y")) {
    return;
  }
  geometry::Point low;
  image.pixel_x = step_of(file, "grid/x", static_cast<std::size_t>(image.nx), low.x);
  image.pixel_y = step_of(file, "grid/y", static_cast<std::size_t>(image.ny), low.y);
  if (image.pixel_x > 0.0 && image.pixel_y > 0.0) {
    image.corner = low;
  }
}

/// Names of the labels 0, 1, ... in the array `name` beside the labels.
void find_names(hid_t file, const std::string& inside, LabelImage& image)
{
  constexpr std::size_t most_names = 65'536;
  const std::string beside = inside.substr(0, inside.rfind('/') + 1) + "name";
  if (!hdf5::has(file, beside)) {
    return;
  }
  const std::size_t count = hdf5::length_of(file, beside, most_names);
  const std::vector<std::string> names = hdf5::read_texts(file, beside, {count});
  for (std::size_t n = 0; n < count; ++n) {
    image.names.emplace(static_cast<std::int32_t>(n), names[n]);
  }
}

[[nodiscard]] LabelImage read_array(const LabelSource& source)
{
  // HDF5 1.10 cannot let go of what it could not open of a damaged file, and complains of
  // that at the end of the process: it need not tidy up then, every file is closed
  // before.
  H5dont_atexit();
  const hdf5::QuietErrors quiet;
  if (H5Fis_hdf5(source.file.c_str()) <= 0) {
    throw LabelFileError("file", "is no HDF5 file, or one that cannot be opened");
  }
  const hdf5::File file = hdf5::open_input(source.file);
  hdf5::require_sound_heaps(file.id(), source.file);
  const hdf5::Dataset dataset = hdf5::open_dataset(file.id(), source.inside);
  require_integers(dataset.id(), source.inside);
  const hdf5::Shape shape = lengths_of(dataset.id(), source.inside);
  // By the scenario's axis: z is the slowest index.
  const std::size_t across = 2 - static_cast<std::size_t>(source.axis);
  const bool volume = shape.size() == 3;
  const std::size_t rows = volume ? (across == 0 ? 1 : 0) : 0;
  const std::size_t columns = volume ? (across == 2 ? 1 : 2) : 1;
  LabelImage image;
  check_map_size(static_cast<double>(shape[columns]), static_cast<double>(shape[rows]));
  image.nx = static_cast<int>(shape[columns]);
  image.ny = static_cast<int>(shape[rows]);
  constexpr std::size_t fewest_bytes = 1;  // of a stored integer
  hdf5::require_shape(dataset.id(), source.inside, shape, fewest_bytes);
  const std::size_t slices = volume ? shape[across] : 1;
  if (slices > static_cast<std::size_t>(std::numeric_limits<int>::max())) {
    throw LabelFileError("file", "has more slices than can be counted");
  }
  const int slice = chosen_slice(source, static_cast<int>(slices));
  take_labels(read_values(dataset.id(), source.inside, shape, across, slice), image);
  find_pixel(file.id(), dataset.id(), image);
  find_names(file.id(), source.inside, image);
  return image;
}

}  // namespace

LabelImage read_label_hdf5(const LabelSource& source)
{
  try {
    return read_array(source);
  } catch (const postproc::ReadError& error) {
    throw LabelFileError("file", fmt::format("cannot be used: {}", error.what()));
  } catch (const postproc::WriteError& error) {  // any failure within HDF5
    throw LabelFileError("file", fmt::format("is damaged: {}", error.what()));
  }
}

}  // namespace torsowave::scenarios
