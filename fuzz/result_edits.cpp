#include "fuzz/result_edits.hpp"

#include <hdf5.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <limits>

#include "postproc/atomic_file.hpp"
#include "postproc/hdf5_handle.hpp"

namespace torsowave::fuzz {
namespace {

using namespace postproc::hdf5;

constexpr int most_edits = 8;
constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr std::array numbers{
    0.0,   1.0,    -1.0,     2.0,   0.5,
    1e308, -1e308, infinite, 4.0e9, std::numeric_limits<double>::quiet_NaN()};

herr_t note_attribute(hid_t /*object*/, const char* name, const H5A_info_t* /*info*/,
                      void* places)
{
  auto& all = *static_cast<std::vector<std::string>*>(places);
  const std::string object = all.back().substr(0, all.back().find('@'));
  all.back() = object + "@" + name;
  all.push_back(object);
  return 0;
}

herr_t note_object(hid_t root, const char* name, const H5O_info_t* /*info*/, void* places)
{
  auto& all = *static_cast<std::vector<std::string>*>(places);
  all.emplace_back(name);
  const hid_t object = H5Oopen(root, name, H5P_DEFAULT);
  H5Aiterate2(object, H5_INDEX_NAME, H5_ITER_INC, nullptr, &note_attribute, places);
  H5Oclose(object);
  return 0;
}

/// A value that is to be put somewhere: `count` times the same.
struct Thing {
  Type type;
  Space space;
  Bytes bytes;
};

[[nodiscard]] Type string_type(std::size_t size)
{
  Type type(H5Tcopy(H5T_C_S1), "H5Tcopy");
  H5Tset_size(type.id(), size);
  return type;
}

[[nodiscard]] Type complex_type()
{
  Type type(H5Tcreate(H5T_COMPOUND, 8), "H5Tcreate");
  H5Tinsert(type.id(), "r", 0, H5T_NATIVE_FLOAT);
  H5Tinsert(type.id(), "i", 4, H5T_NATIVE_FLOAT);
  return type;
}

[[nodiscard]] Type type_of(std::size_t choice)
{
  switch (choice) {
    case 0:
      return {H5Tcopy(H5T_NATIVE_DOUBLE), "H5Tcopy"};
    case 1:
      return {H5Tcopy(H5T_NATIVE_INT64), "H5Tcopy"};
    case 2:
      return {H5Tcopy(H5T_NATIVE_UINT16), "H5Tcopy"};
    case 3:
      return {H5Tcopy(H5T_NATIVE_FLOAT), "H5Tcopy"};
    case 4:
      return string_type(H5T_VARIABLE);
    case 5:
      return string_type(8);
    default:
      return complex_type();
  }
}

/// A value of the type, as HDF5 wants it in memory.
[[nodiscard]] Bytes value_of(hid_t type, double number)
{
  Bytes bytes(H5Tget_size(type));
  if (H5Tis_variable_str(type) > 0) {
    const char* text = number > 0.0 ? "muscle\xFF" : nullptr;
    std::memcpy(bytes.data(), &text, sizeof text);
  } else if (H5Tget_class(type) == H5T_FLOAT && bytes.size() == sizeof(float)) {
    const auto narrow = std::bit_cast<std::uint64_t>(number) == 0 ? 0.0F : 3e38F;
    std::memcpy(bytes.data(), &narrow, sizeof narrow);
  } else {
    std::memcpy(bytes.data(), &number, std::min(bytes.size(), sizeof number));
  }
  return bytes;
}

[[nodiscard]] Thing thing_of(Input& input)
{
  Thing thing;
  thing.type = type_of(input.below(7));
  std::vector<hsize_t> lengths;
  hsize_t count = 1;
  const std::size_t rank = input.below(4);
  for (std::size_t n = 0; n < rank; ++n) {
    lengths.push_back(input.number(1) % 7);
    count *= lengths.back();
  }
  thing.space =
      Space(rank == 0 ? H5Screate(H5S_SCALAR)
                      : H5Screate_simple(static_cast<int>(rank), lengths.data(), nullptr),
            "H5Screate");
  const Bytes value = value_of(thing.type.id(), numbers.at(input.below(numbers.size())));
  for (hsize_t n = 0; n < count; ++n) {
    thing.bytes.insert(thing.bytes.end(), value.begin(), value.end());
  }
  return thing;
}

void replace_attribute(hid_t object, const std::string& name, bool put, Input& input)
{
  H5Adelete(object, name.c_str());
  if (put) {
    const Thing thing = thing_of(input);
    const Attribute made(H5Acreate2(object, name.c_str(), thing.type.id(),
                                    thing.space.id(), H5P_DEFAULT, H5P_DEFAULT),
                         "H5Acreate2");
    H5Awrite(made.id(), thing.type.id(), thing.bytes.data());
  }
}

void replace_object(hid_t file, const std::string& name, bool put, Input& input)
{
  H5Ldelete(file, name.c_str(), H5P_DEFAULT);
  if (put) {
    const Thing thing = thing_of(input);
    const Dataset made(H5Dcreate2(file, name.c_str(), thing.type.id(), thing.space.id(),
                                  H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT),
                       "H5Dcreate2");
    H5Dwrite(made.id(), thing.type.id(), H5S_ALL, H5S_ALL, H5P_DEFAULT,
             thing.bytes.data());
  }
}

/// The same values throughout, in the type and shape that are there.
void overwrite_values(hid_t file, const std::string& name, Input& input)
{
  const Dataset dataset(H5Dopen2(file, name.c_str(), H5P_DEFAULT), "H5Dopen2");
  const Space space(H5Dget_space(dataset.id()), "H5Dget_space");
  const auto count = static_cast<std::size_t>(H5Sget_simple_extent_npoints(space.id()));
  const std::vector<double> values(count, numbers.at(input.below(numbers.size())));
  H5Dwrite(dataset.id(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data());
}

void edit_place(hid_t file, const std::string& place, Input& input)
{
  const auto action = input.number(1) % 3;
  const std::size_t at = place.find('@');
  if (at != std::string::npos) {
    const std::string object_name = at == 0 ? "." : place.substr(0, at);
    const hid_t object = H5Oopen(file, object_name.c_str(), H5P_DEFAULT);
    if (object >= 0) {
      replace_attribute(object, place.substr(at + 1), action > 0, input);
      H5Oclose(object);
    }
  } else if (action == 2) {
    overwrite_values(file, place, input);
  } else {
    replace_object(file, place, action == 1, input);
  }
}

}  // namespace

std::vector<std::string> places_in(const std::filesystem::path& file)
{
  const File opened(H5Fopen(file.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), "H5Fopen");
  std::vector<std::string> places;
  H5Ovisit2(opened.id(), H5_INDEX_NAME, H5_ITER_INC, &note_object, &places,
            H5O_INFO_BASIC);
  std::erase(places, ".");
  return places;
}

void edit_places(const std::filesystem::path& file,
                 const std::vector<std::string>& places, Input& input)
{
  const QuietErrors quiet;
  const File opened(H5Fopen(file.c_str(), H5F_ACC_RDWR, H5P_DEFAULT), "H5Fopen");
  for (int n = 0; n < most_edits && !input.empty(); ++n) {
    try {
      edit_place(opened.id(), places.at(input.below(places.size())), input);
    } catch (const postproc::WriteError&) {
      continue;  // an earlier edit has removed it
    }
  }
}

}  // namespace torsowave::fuzz
