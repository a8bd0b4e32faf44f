#include "postproc/hdf5_write.hpp"

#include <H5DSpublic.h>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <stdexcept>

namespace torsowave::postproc::hdf5 {
namespace {

/// Fast and nearly as small as higher levels on field data behind the shuffle filter.
constexpr unsigned deflate_level = 1;

/// Values of a growing coordinate that share a chunk.
constexpr hsize_t coordinate_chunk = 256;

constexpr unsigned in_order = H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED;

/// Creation properties: attributes keep their order, and no time stamps, so that equal
/// results make equal files.
[[nodiscard]] PropertyList creation_properties(hid_t object_class)
{
  PropertyList list(H5Pcreate(object_class), "H5Pcreate");
  check(H5Pset_attr_creation_order(list.id(), in_order), "H5Pset_attr_creation_order");
  check(H5Pset_obj_track_times(list.id(), false), "H5Pset_obj_track_times");
  return list;
}

[[nodiscard]] PropertyList group_properties(hid_t object_class)
{
  PropertyList list = creation_properties(object_class);
  check(H5Pset_link_creation_order(list.id(), in_order), "H5Pset_link_creation_order");
  return list;
}

/// UTF-8 of any length.
[[nodiscard]] Type string_type()
{
  Type type(H5Tcopy(H5T_C_S1), "H5Tcopy");
  check(H5Tset_size(type.id(), H5T_VARIABLE), "H5Tset_size");
  check(H5Tset_cset(type.id(), H5T_CSET_UTF8), "H5Tset_cset");
  return type;
}

[[nodiscard]] std::vector<const char*> pointers_to(const std::vector<std::string>& values)
{
  std::vector<const char*> pointers;
  pointers.reserve(values.size());
  for (const std::string& value : values) {
    pointers.push_back(value.c_str());
  }
  return pointers;
}

void write_raw_attribute(hid_t object, const std::string& name, hid_t type, hid_t space,
                         const void* value)
{
  const Attribute attribute(
      H5Acreate2(object, name.c_str(), type, space, H5P_DEFAULT, H5P_DEFAULT),
      "H5Acreate2 of " + name);
  check(H5Awrite(attribute.id(), type, value), "H5Awrite of " + name);
}

[[nodiscard]] Space scalar_space()
{
  return {H5Screate(H5S_SCALAR), "H5Screate"};
}

[[nodiscard]] Space space_of(const Axes& axes)
{
  if (axes.empty()) {
    return scalar_space();
  }
  std::vector<hsize_t> now;
  std::vector<hsize_t> limit;
  for (const Axis* axis : axes) {
    now.push_back(axis->size);
    limit.push_back(axis->unlimited ? H5S_UNLIMITED : axis->size);
  }
  return {H5Screate_simple(static_cast<int>(axes.size()), now.data(), limit.data()),
          "H5Screate_simple"};
}

/// Whole-frame chunks, so that a reader that wants one moment or one frequency
/// decompresses that alone.
void compress_by_frame(hid_t properties, const Axes& axes)
{
  std::vector<hsize_t> chunk = {1};
  for (std::size_t i = 1; i < axes.size(); ++i) {
    chunk.push_back(axes[i]->size);
  }
  if (axes.size() == 1) {
    chunk[0] = coordinate_chunk;
  } else if (axes.size() == 2 && !axes[0]->unlimited) {
    chunk[0] = axes[0]->size;
  }
  check(H5Pset_chunk(properties, static_cast<int>(chunk.size()), chunk.data()),
        "H5Pset_chunk");
  check(H5Pset_shuffle(properties), "H5Pset_shuffle");
  check(H5Pset_deflate(properties, deflate_level), "H5Pset_deflate");
}

void describe(hid_t object, const Description& description)
{
  if (!description.units.empty()) {
    write_attribute(object, "units", description.units);
  }
  write_attribute(object, "long_name", description.long_name);
}

/// \throws std::invalid_argument
void require_size(const std::string& name, std::size_t values, const Axes& axes)
{
  std::vector<hsize_t> shape;
  hsize_t expected = 1;
  for (const Axis* axis : axes) {
    shape.push_back(axis->size);
    expected *= axis->size;
  }
  if (values != expected) {
    throw std::invalid_argument(fmt::format("{} holds {} values for the shape ({})", name,
                                            values, fmt::join(shape, ", ")));
  }
}

Dataset write_values(hid_t group, const std::string& name, hid_t type, const void* values,
                     const Axes& axes, const Description& description)
{
  Dataset dataset = create_variable(group, name, type, axes, description);
  check(H5Dwrite(dataset.id(), type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values),
        "H5Dwrite of " + name);
  return dataset;
}

/// Turns a one-dimensional variable into the scale of the dimension that has its name.
[[nodiscard]] Axis scale_of(Dataset dataset, const std::string& name, std::size_t size)
{
  check(H5DSset_scale(dataset.id(), name.c_str()), "H5DSset_scale of " + name);
  return {std::move(dataset), size, false};
}

/// The shape of a coordinate variable, which has no scale but itself.
[[nodiscard]] Axis bare_axis(std::size_t size)
{
  return {Dataset{}, size, false};
}

/// Grows the first dimension to the axes' sizes and writes its last index.
void write_last(hid_t variable, const Axes& axes, hid_t type, const void* values)
{
  std::vector<hsize_t> size;
  for (const Axis* axis : axes) {
    size.push_back(axis->size);
  }
  check(H5Dset_extent(variable, size.data()), "H5Dset_extent");
  std::vector<hsize_t> start(size.size(), 0);
  start[0] = size[0] - 1;
  std::vector<hsize_t> count = size;
  count[0] = 1;
  const Space target(H5Dget_space(variable), "H5Dget_space");
  check(H5Sselect_hyperslab(target.id(), H5S_SELECT_SET, start.data(), nullptr,
                            count.data(), nullptr),
        "H5Sselect_hyperslab");
  const Space source(
      H5Screate_simple(static_cast<int>(count.size()), count.data(), nullptr),
      "H5Screate_simple");
  check(H5Dwrite(variable, type, source.id(), target.id(), H5P_DEFAULT, values),
        "H5Dwrite");
}

}  // namespace

File create_file(const std::string& path, const PropertyList& access)
{
  const PropertyList creation = group_properties(H5P_FILE_CREATE);
  // The 1.8 format is the oldest that tracks creation order and every reader since knows.
  check(H5Pset_libver_bounds(access.id(), H5F_LIBVER_V18, H5F_LIBVER_V18),
        "H5Pset_libver_bounds");
  return {H5Fcreate(path.c_str(), H5F_ACC_TRUNC, creation.id(), access.id()),
          "H5Fcreate"};
}

Group create_group(hid_t parent, const std::string& name)
{
  const PropertyList creation = group_properties(H5P_GROUP_CREATE);
  return {H5Gcreate2(parent, name.c_str(), H5P_DEFAULT, creation.id(), H5P_DEFAULT),
          "H5Gcreate2 of " + name};
}

Type commit_complex_type(hid_t file)
{
  Type type(H5Tcreate(H5T_COMPOUND, sizeof(std::complex<float>)), "H5Tcreate");
  // C++20 [complex.numbers]/4: a complex is an array of its real and imaginary part.
  check(H5Tinsert(type.id(), "r", 0, H5T_NATIVE_FLOAT), "H5Tinsert");
  check(H5Tinsert(type.id(), "i", sizeof(float), H5T_NATIVE_FLOAT), "H5Tinsert");
  const PropertyList creation = creation_properties(H5P_DATATYPE_CREATE);
  check(H5Tcommit2(file, "complex64", type.id(), H5P_DEFAULT, creation.id(), H5P_DEFAULT),
        "H5Tcommit2");
  return type;
}

void write_attribute(hid_t object, const std::string& name, const std::string& value)
{
  const char* text = value.c_str();
  write_raw_attribute(object, name, string_type().id(), scalar_space().id(), &text);
}

void write_attribute(hid_t object, const std::string& name, double value)
{
  write_raw_attribute(object, name, H5T_NATIVE_DOUBLE, scalar_space().id(), &value);
}

void write_attribute(hid_t object, const std::string& name, std::int64_t value)
{
  write_raw_attribute(object, name, H5T_NATIVE_INT64, scalar_space().id(), &value);
}

void write_attribute(hid_t object, const std::string& name,
                     std::span<const std::uint16_t> values)
{
  const hsize_t size = values.size();
  const Space space(H5Screate_simple(1, &size, nullptr), "H5Screate_simple");
  write_raw_attribute(object, name, H5T_NATIVE_UINT16, space.id(), values.data());
}

void write_attribute(hid_t object, const std::string& name,
                     std::span<const double> values)
{
  const hsize_t size = values.size();
  const Space space(H5Screate_simple(1, &size, nullptr), "H5Screate_simple");
  write_raw_attribute(object, name, H5T_NATIVE_DOUBLE, space.id(), values.data());
}

Dataset create_variable(hid_t group, const std::string& name, hid_t type,
                        const Axes& axes, const Description& description)
{
  const Space space = space_of(axes);
  const PropertyList creation = creation_properties(H5P_DATASET_CREATE);
  if (axes.size() >= 2 || (axes.size() == 1 && axes[0]->unlimited)) {
    compress_by_frame(creation.id(), axes);
  }
  Dataset dataset(H5Dcreate2(group, name.c_str(), type, space.id(), H5P_DEFAULT,
                             creation.id(), H5P_DEFAULT),
                  "H5Dcreate2 of " + name);
  for (std::size_t i = 0; i < axes.size(); ++i) {
    if (axes[i]->scale) {
      check(H5DSattach_scale(dataset.id(), axes[i]->scale.id(), static_cast<unsigned>(i)),
            "H5DSattach_scale to " + name);
    }
  }
  describe(dataset.id(), description);
  return dataset;
}

Axis create_unlimited_axis(hid_t group, const std::string& name,
                           const Description& description)
{
  const Axis shape{Dataset{}, 0, true};
  Axis axis = scale_of(
      create_variable(group, name, H5T_NATIVE_DOUBLE, {&shape}, description), name, 0);
  axis.unlimited = true;
  return axis;
}

void append_coordinate(Axis& axis, double value)
{
  ++axis.size;
  write_last(axis.scale.id(), {&axis}, H5T_NATIVE_DOUBLE, &value);
}

void append_frame(hid_t variable, const Axes& axes, std::span<const float> values)
{
  write_last(variable, axes, H5T_NATIVE_FLOAT, values.data());
}

Axis write_axis(hid_t group, const std::string& name, std::span<const double> values,
                const Description& description)
{
  const Axis shape = bare_axis(values.size());
  return scale_of(
      write_values(group, name, H5T_NATIVE_DOUBLE, values.data(), {&shape}, description),
      name, values.size());
}

Axis write_axis(hid_t group, const std::string& name,
                const std::vector<std::string>& values, const Description& description)
{
  const Axis shape = bare_axis(values.size());
  return scale_of(write_values(group, name, string_type().id(),
                               pointers_to(values).data(), {&shape}, description),
                  name, values.size());
}

Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const double> values, const Axes& axes,
                       const Description& description)
{
  require_size(name, values.size(), axes);
  return write_values(group, name, H5T_NATIVE_DOUBLE, values.data(), axes, description);
}

Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const float> values, const Axes& axes,
                       const Description& description)
{
  require_size(name, values.size(), axes);
  return write_values(group, name, H5T_NATIVE_FLOAT, values.data(), axes, description);
}

Dataset write_variable(hid_t group, const std::string& name,
                       std::span<const std::uint16_t> values, const Axes& axes,
                       const Description& description)
{
  require_size(name, values.size(), axes);
  return write_values(group, name, H5T_NATIVE_UINT16, values.data(), axes, description);
}

Dataset write_variable(hid_t group, const std::string& name,
                       const std::vector<std::string>& values, const Axes& axes,
                       const Description& description)
{
  require_size(name, values.size(), axes);
  return write_values(group, name, string_type().id(), pointers_to(values).data(), axes,
                      description);
}

Dataset write_variable(hid_t group, const std::string& name, hid_t type,
                       std::span<const std::complex<float>> values, const Axes& axes,
                       const Description& description)
{
  require_size(name, values.size(), axes);
  return write_values(group, name, type, values.data(), axes, description);
}

}  // namespace torsowave::postproc::hdf5
