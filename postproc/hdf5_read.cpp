#include "postproc/hdf5_read.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "postproc/hdf5_heap.hpp"
#include "postproc/read_error.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

/// More than deflate can make of a byte: 1032 (J. Gailly, M. Adler, zlib technical
/// details, from memory). What claims to hold more was never written by us.
constexpr double largest_growth = 1100.0;

[[nodiscard]] Shape shape_of(hid_t object_space)
{
  const int rank =
      check(H5Sget_simple_extent_ndims(object_space), "H5Sget_simple_extent");
  std::vector<hsize_t> lengths(static_cast<std::size_t>(rank));
  check(H5Sget_simple_extent_dims(object_space, lengths.data(), nullptr),
        "H5Sget_simple_extent_dims");
  return {lengths.begin(), lengths.end()};
}

[[nodiscard]] double count_of(const Shape& shape)
{
  double count = 1.0;
  for (const std::size_t length : shape) {
    count *= static_cast<double>(length);
  }
  return count;
}

void require_class(hid_t type, H5T_class_t wanted, const std::string& name,
                   const char* description)
{
  if (H5Tget_class(type) != wanted) {
    throw ReadError(fmt::format("{} holds no {}", name, description));
  }
}

/// \throws ReadError  The type is not {r, i} of floating-point numbers.
void require_complex(hid_t type, const std::string& name)
{
  require_class(type, H5T_COMPOUND, name, "complex numbers {r, i}");
  if (H5Tget_nmembers(type) != 2 || H5Tget_member_index(type, "r") < 0 ||
      H5Tget_member_index(type, "i") < 0 || H5Tget_member_class(type, 0) != H5T_FLOAT ||
      H5Tget_member_class(type, 1) != H5T_FLOAT) {
    throw ReadError(fmt::format("{} holds no complex numbers {{r, i}}", name));
  }
}

template <class Value>
[[nodiscard]] std::vector<Value> read_values(hid_t group, const std::string& name,
                                             const Shape& shape, H5T_class_t wanted,
                                             const char* description, hid_t memory_type)
{
  const Dataset dataset = open_dataset(group, name);
  const Type type(H5Dget_type(dataset.id()), "H5Dget_type of " + name);
  require_class(type.id(), wanted, name, description);
  require_shape(dataset.id(), name, shape, sizeof(Value));
  std::vector<Value> values(static_cast<std::size_t>(count_of(shape)));
  if (!values.empty()) {
    check(
        H5Dread(dataset.id(), memory_type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()),
        "H5Dread of " + name);
  }
  return values;
}

[[nodiscard]] Type text_type()
{
  Type type(H5Tcopy(H5T_C_S1), "H5Tcopy");
  check(H5Tset_size(type.id(), H5T_VARIABLE), "H5Tset_size");
  check(H5Tset_cset(type.id(), H5T_CSET_UTF8), "H5Tset_cset");
  return type;
}

void require_text(hid_t type, const std::string& name)
{
  require_class(type, H5T_STRING, name, "text");
  if (H5Tis_variable_str(type) <= 0) {
    throw ReadError(fmt::format("{} holds text of another kind than ours", name));
  }
}

/// Copies texts that HDF5 has allocated, and frees them.
[[nodiscard]] std::vector<std::string> take_texts(const std::vector<char*>& pointers,
                                                  hid_t type, hid_t space)
{
  std::vector<std::string> texts;
  texts.reserve(pointers.size());
  for (const char* pointer : pointers) {
    texts.emplace_back(pointer == nullptr ? "" : pointer);
  }
  check(H5Dvlen_reclaim(type, space, H5P_DEFAULT, const_cast<char**>(pointers.data())),
        "H5Dvlen_reclaim");
  return texts;
}

/// An attribute that must be a scalar of one class; no handle where there is none.
[[nodiscard]] Attribute open_attribute(hid_t object, const std::string& name,
                                       H5T_class_t wanted, const char* description)
{
  if (check(H5Aexists(object, name.c_str()), "H5Aexists of " + name) == 0) {
    return {};
  }
  Attribute attribute(H5Aopen(object, name.c_str(), H5P_DEFAULT), "H5Aopen of " + name);
  const Type type(H5Aget_type(attribute.id()), "H5Aget_type of " + name);
  require_class(type.id(), wanted, "attribute " + name, description);
  const Space space(H5Aget_space(attribute.id()), "H5Aget_space of " + name);
  if (H5Sget_simple_extent_npoints(space.id()) != 1) {
    throw ReadError(fmt::format("attribute {} is no single value", name));
  }
  return attribute;
}

template <class Value>
[[nodiscard]] std::optional<Value> read_scalar(const Attribute& attribute, hid_t type,
                                               const std::string& name)
{
  if (!attribute) {
    return std::nullopt;
  }
  Value value{};
  check(H5Aread(attribute.id(), type, &value), "H5Aread of " + name);
  return value;
}

}  // namespace

bool has(hid_t group, const std::string& name)
{
  return check(H5Lexists(group, name.c_str(), H5P_DEFAULT), "H5Lexists of " + name) > 0;
}

std::vector<std::string> members(hid_t group)
{
  H5G_info_t info{};
  check(H5Gget_info(group, &info), "H5Gget_info");
  std::vector<std::string> names;
  for (hsize_t n = 0; n < info.nlinks; ++n) {
    const auto at = [&](char* buffer, std::size_t size) {
      return check(H5Lget_name_by_idx(group, ".", H5_INDEX_CRT_ORDER, H5_ITER_INC, n,
                                      buffer, size, H5P_DEFAULT),
                   "H5Lget_name_by_idx");
    };
    std::string name(static_cast<std::size_t>(at(nullptr, 0)), '\0');
    at(name.data(), name.size() + 1);
    names.push_back(std::move(name));
  }
  return names;
}

Group open_group(hid_t parent, const std::string& name)
{
  if (!has(parent, name)) {
    throw ReadError(fmt::format("the group {} is missing", name));
  }
  return {H5Gopen2(parent, name.c_str(), H5P_DEFAULT), "H5Gopen2 of " + name};
}

Dataset open_dataset(hid_t group, const std::string& name)
{
  if (!has(group, name)) {
    throw ReadError(fmt::format("{} is missing", name));
  }
  return {H5Dopen2(group, name.c_str(), H5P_DEFAULT), "H5Dopen2 of " + name};
}

std::optional<std::string> text_attribute(hid_t object, const std::string& name)
{
  const Attribute attribute = open_attribute(object, name, H5T_STRING, "text");
  if (!attribute) {
    return std::nullopt;
  }
  require_text(Type(H5Aget_type(attribute.id()), "H5Aget_type of " + name).id(),
               "attribute " + name);
  const Type type = text_type();
  const Space space(H5Aget_space(attribute.id()), "H5Aget_space of " + name);
  std::vector<char*> pointer{nullptr};
  check(H5Aread(attribute.id(), type.id(), pointer.data()), "H5Aread of " + name);
  return take_texts(pointer, type.id(), space.id()).front();
}

std::optional<double> number_attribute(hid_t object, const std::string& name)
{
  return read_scalar<double>(
      open_attribute(object, name, H5T_FLOAT, "floating-point number"), H5T_NATIVE_DOUBLE,
      name);
}

std::optional<std::int64_t> integer_attribute(hid_t object, const std::string& name)
{
  return read_scalar<std::int64_t>(open_attribute(object, name, H5T_INTEGER, "integer"),
                                   H5T_NATIVE_INT64, name);
}

std::vector<double> numbers_attribute(hid_t object, const std::string& name,
                                      std::size_t most)
{
  if (check(H5Aexists(object, name.c_str()), "H5Aexists of " + name) == 0) {
    return {};
  }
  const Attribute attribute(H5Aopen(object, name.c_str(), H5P_DEFAULT),
                            "H5Aopen of " + name);
  const Type type(H5Aget_type(attribute.id()), "H5Aget_type of " + name);
  require_class(type.id(), H5T_FLOAT, "attribute " + name, "floating-point numbers");
  const Space space(H5Aget_space(attribute.id()), "H5Aget_space of " + name);
  const double count = count_of(shape_of(space.id()));
  if (count > static_cast<double>(most)) {
    throw ReadError(fmt::format("attribute {} holds {:.0f} values, expected at most {}",
                                name, count, most));
  }
  std::vector<double> values(static_cast<std::size_t>(count));
  check(H5Aread(attribute.id(), H5T_NATIVE_DOUBLE, values.data()), "H5Aread of " + name);
  return values;
}

template <class Value>
Value required(std::optional<Value> value, const std::string& what)
{
  if (!value) {
    throw ReadError(fmt::format("the attribute {} is missing", what));
  }
  return *std::move(value);
}

template double required(std::optional<double>, const std::string&);
template std::int64_t required(std::optional<std::int64_t>, const std::string&);
template std::string required(std::optional<std::string>, const std::string&);

std::size_t length_of(hid_t group, const std::string& name, std::size_t most)
{
  const Dataset dataset = open_dataset(group, name);
  const Shape shape =
      shape_of(Space(H5Dget_space(dataset.id()), "H5Dget_space of " + name).id());
  if (shape.size() != 1 || shape.front() > most) {
    throw ReadError(
        fmt::format("{} has the shape ({}); expected one dimension of at most "
                    "{} values",
                    name, fmt::join(shape, ", "), most));
  }
  return shape.front();
}

void require_shape(hid_t dataset, const std::string& name, const Shape& shape,
                   std::size_t bytes_per_value)
{
  const Shape found =
      shape_of(Space(H5Dget_space(dataset), "H5Dget_space of " + name).id());
  if (found != shape) {
    throw ReadError(fmt::format("{} has the shape ({}), expected ({})", name,
                                fmt::join(found, ", "), fmt::join(shape, ", ")));
  }
  hsize_t file_size = 0;
  const File file(H5Iget_file_id(dataset), "H5Iget_file_id");
  check(H5Fget_filesize(file.id(), &file_size), "H5Fget_filesize");
  const auto stored = static_cast<double>(H5Dget_storage_size(dataset));
  const double needed = count_of(shape) * static_cast<double>(bytes_per_value);
  if (stored > static_cast<double>(file_size) || needed > largest_growth * stored) {
    throw ReadError(fmt::format("{} would need {:.0f} bytes, but {:.0f} are stored of it",
                                name, needed, stored));
  }
}

std::vector<double> read_doubles(hid_t group, const std::string& name, const Shape& shape)
{
  return read_values<double>(group, name, shape, H5T_FLOAT, "floating-point numbers",
                             H5T_NATIVE_DOUBLE);
}

std::vector<std::vector<double>> read_rows(hid_t group, const std::string& name,
                                           std::size_t rows, std::size_t columns)
{
  std::vector<std::vector<double>> result(rows);
  if (!has(group, name)) {
    return result;
  }
  const std::vector<double> table = read_doubles(group, name, {rows, columns});
  for (std::size_t r = 0; r < rows; ++r) {
    const auto begin = table.begin() + static_cast<std::ptrdiff_t>(r * columns);
    const auto end = begin + static_cast<std::ptrdiff_t>(columns);
    if (!std::all_of(begin, end, [](double value) { return std::isnan(value); })) {
      result[r].assign(begin, end);
    }
  }
  return result;
}

std::vector<float> read_floats(hid_t group, const std::string& name, const Shape& shape)
{
  return read_values<float>(group, name, shape, H5T_FLOAT, "floating-point numbers",
                            H5T_NATIVE_FLOAT);
}

std::vector<std::uint16_t> read_labels(hid_t group, const std::string& name,
                                       const Shape& shape)
{
  return read_values<std::uint16_t>(group, name, shape, H5T_INTEGER, "integers",
                                    H5T_NATIVE_UINT16);
}

std::vector<std::string> read_texts(hid_t group, const std::string& name,
                                    const Shape& shape)
{
  const Dataset dataset = open_dataset(group, name);
  require_text(Type(H5Dget_type(dataset.id()), "H5Dget_type of " + name).id(), name);
  require_shape(dataset.id(), name, shape, sizeof(char*));
  std::vector<char*> pointers(static_cast<std::size_t>(count_of(shape)), nullptr);
  if (pointers.empty()) {
    return {};
  }
  require_sound_texts(dataset.id(), name, pointers.size());
  const Type type = text_type();
  check(H5Dread(dataset.id(), type.id(), H5S_ALL, H5S_ALL, H5P_DEFAULT, pointers.data()),
        "H5Dread of " + name);
  return take_texts(pointers, type.id(),
                    Space(H5Dget_space(dataset.id()), "H5Dget_space of " + name).id());
}

std::vector<std::complex<float>> read_complex(hid_t group, const std::string& name,
                                              const Shape& shape)
{
  {
    const Dataset dataset = open_dataset(group, name);
    require_complex(Type(H5Dget_type(dataset.id()), "H5Dget_type of " + name).id(), name);
  }
  const Type type(H5Tcreate(H5T_COMPOUND, sizeof(std::complex<float>)), "H5Tcreate");
  // C++20 [complex.numbers]/4: a complex is an array of its real and imaginary part.
  check(H5Tinsert(type.id(), "r", 0, H5T_NATIVE_FLOAT), "H5Tinsert");
  check(H5Tinsert(type.id(), "i", sizeof(float), H5T_NATIVE_FLOAT), "H5Tinsert");
  return read_values<std::complex<float>>(group, name, shape, H5T_COMPOUND,
                                          "complex numbers {r, i}", type.id());
}

}  // namespace torsowave::postproc::hdf5
