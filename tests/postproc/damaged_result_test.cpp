// Results and what is wrong with them: damaged, cut, foreign, impossible.

#include <gtest/gtest.h>
#include <hdf5.h>

#include <cmath>
#include <cstring>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>

#include "postproc/hdf5_handle.hpp"
#include "postproc/sample_result.hpp"
#include "postproc/stored_result.hpp"
#include "postproc/temporary_folder.hpp"

namespace torsowave::postproc {
namespace {

/// The message with which a file is refused.
std::string refusal(const std::filesystem::path& path)
{
  try {
    static_cast<void>(read_result(path));
    static_cast<void>(StoredSnapshots(path));
  } catch (const ReadError& error) {
    return error.what();
  }
  return "accepted";
}

/// What is wrong with a file, and what the message names.
struct Damage {
  const char* named;
  std::function<void(hid_t)> work;
};

/// Replaces a variable by one of another type and shape that holds zeros or nothing.
void replace(hid_t file, const char* name, hid_t type, std::vector<hsize_t> shape)
{
  H5Ldelete(file, name, H5P_DEFAULT);
  const hdf5::Space space(
      H5Screate_simple(static_cast<int>(shape.size()), shape.data(), nullptr), name);
  const hdf5::PropertyList creation(H5Pcreate(H5P_DATASET_CREATE), name);
  std::fill(shape.begin(), shape.end(), 1);
  H5Pset_chunk(creation.id(), static_cast<int>(shape.size()), shape.data());
  hdf5::check(hdf5::Dataset(H5Dcreate2(file, name, type, space.id(), H5P_DEFAULT,
                                       creation.id(), H5P_DEFAULT),
                            name)
                  .id(),
              name);
}

void overwrite(hid_t file, const char* name, std::vector<double> values)
{
  const hdf5::Dataset dataset(H5Dopen2(file, name, H5P_DEFAULT), name);
  hdf5::check(H5Dwrite(dataset.id(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT,
                       values.data()),
              name);
}

/// Each refused, by name.
void expect_named(const std::vector<Damage>& damages)
{
  for (const Damage& damage : damages) {
    const TemporaryFolder folder;
    const std::filesystem::path path =
        write_sample(folder / "result.h5", sample_result(), 3);
    {
      const hdf5::File file(H5Fopen(path.c_str(), H5F_ACC_RDWR, H5P_DEFAULT), "H5Fopen");
      damage.work(file.id());
    }
    const std::string message = refusal(path);
    EXPECT_NE(message.find(damage.named), std::string::npos) << damage.named << '\n'
                                                             << message;
    EXPECT_NE(message.find("result.h5"), std::string::npos) << message;
  }
}

TEST(StoredResult, NamesWhatIsWrong)
{
  const std::vector<Damage> damages{
      {"format", [](hid_t f) { H5Adelete(f, "format"); }},
      {"title", [](hid_t f) { H5Adelete(f, "title"); }},
      {"source is missing", [](hid_t f) { H5Ldelete(f, "powers/source", H5P_DEFAULT); }},
      {"label has the shape (3, 4), expected (3, 5)",
       [](hid_t f) {
         replace(f, "tissue/label", H5T_NATIVE_UINT16, {3, 4});
       }},
      {"label holds no integers",
       [](hid_t f) {
         replace(f, "tissue/label", H5T_NATIVE_DOUBLE, {3, 5});
       }},
      {"Ez holds no complex numbers",
       [](hid_t f) {
         replace(f, "phasors/Ez", H5T_NATIVE_FLOAT, {2, 3, 5});
       }},
      {"sar would need",
       [](hid_t f) {
         replace(f, "sar", H5T_NATIVE_FLOAT, {2, 3, 5});
       }},
      {"/tissue/poles has inf for muscle",
       [](hid_t f) {
         overwrite(f, "tissue/poles", {0.0, 2.0, HUGE_VAL});
       }},
      {"x has the shape (1000001)",
       [](hid_t f) { replace(f, "grid/x", H5T_NATIVE_DOUBLE, {1000001}); }},
      {"Ez has the shape (3, 2, 4), expected (3, 2, 3)", [](hid_t f) {
         replace(f, "snapshots/Ez", H5T_NATIVE_FLOAT, {3, 2, 4});
       }}};
  expect_named(damages);
}

TEST(StoredResult, NamesNumbersThatNoRunHas)
{
  expect_named({{"/grid/x has 0.1 m for cell 1",
                 [](hid_t f) {
                   overwrite(f, "grid/x", {-1e-3, 0.1, 0.0, 0.5e-3, 1e-3});
                 }},
                {"/powers has the frequency nan Hz",
                 [](hid_t f) {
                   overwrite(f, "powers/frequency", {NAN, 2.45e9});
                 }},
                {"/powers has 10, inf and 0.99 W/m",
                 [](hid_t f) {
                   overwrite(f, "powers/absorbed", {HUGE_VAL, 9.0});
                 }},
                {"/energy/time has 0 s for moment 1",
                 [](hid_t f) {
                   overwrite(f, "energy/time", {1e-11, 0.0});
                 }},
                {"/energy/total has -1 J/m",
                 [](hid_t f) {
                   overwrite(f, "energy/total", {0.0, -1.0});
                 }},
                {"/far_field has no intensity or no gain",
                 [](hid_t f) { H5Ldelete(f, "far_field/gain", H5P_DEFAULT); }},
                {"/far_field/angle has a direction of inf degrees",
                 [](hid_t f) {
                   overwrite(f, "far_field/angle", {0.0, HUGE_VAL, 240.0});
                 }},
                {"/snapshots/time has nan s",
                 [](hid_t f) {
                   overwrite(f, "snapshots/time", {0.0, NAN, 1.0});
                 }},
                {"/surface, /far_field or /antenna_gain has what is no number",
                 [](hid_t f) {
                   overwrite(f, "far_field/intensity", {1.0, HUGE_VAL, 1.0, 1, 1, 1});
                 }},
                {"the group tissue is missing",
                 [](hid_t f) { H5Ldelete(f, "tissue", H5P_DEFAULT); }}});
}

/// The first collection of texts in a file: where its pieces begin, by number.
struct Heap {
  std::string bytes;
  std::map<unsigned, std::size_t> pieces;  ///< 0: unused
};

/// \see postproc/hdf5_heap.hpp
Heap heap_of(const std::filesystem::path& path)
{
  std::ifstream file(path, std::ios::binary);
  Heap heap{{std::istreambuf_iterator<char>(file), {}}, {}};
  const std::size_t begin = heap.bytes.find("GCOL");
  const auto number = [&](std::size_t at, std::size_t bytes) {
    std::uint64_t value = 0;
    std::memcpy(&value, heap.bytes.data() + at, bytes);
    return value;
  };
  const std::size_t end = begin + number(begin + 8, 8);
  for (std::size_t at = begin + 16; at + 16 <= end;) {
    const auto index = static_cast<unsigned>(number(at, 2));
    const std::size_t size = number(at + 8, 8);
    heap.pieces[index] = at;
    at += index > 0 ? 16 + (size + 7) / 8 * 8 : size;
  }
  return heap;
}

TEST(StoredResult, RefusesTextsThatHdf5WouldNotComeToTheEndOf)
{
  const TemporaryFolder folder;
  const std::filesystem::path path =
      write_sample(folder / "result.h5", sample_result(), 3);
  const auto with = [&](std::size_t at, std::uint64_t number, std::size_t bytes) {
    Heap changed = heap_of(path);
    std::memcpy(changed.bytes.data() + at, &number, bytes);
    std::ofstream(folder / "changed.h5", std::ios::binary) << changed.bytes;
    return refusal(folder / "changed.h5");
  };
  const Heap heap = heap_of(path);
  ASSERT_TRUE(heap.pieces.contains(0) && heap.pieces.contains(1));
  const std::size_t unused = heap.pieces.at(0);
  EXPECT_NE(with(unused + 8, 0, 8).find("where its texts are"), std::string::npos);
  EXPECT_NE(with(unused + 8, ~std::uint64_t{15}, 8).find("where its texts are"),
            std::string::npos);
  EXPECT_NE(with(heap.pieces.at(1) + 8, 1U << 20U, 8).find("where its texts are"),
            std::string::npos);
  // A reference to a piece that is not there: of the tissues' names.
  std::size_t names = 0;
  {
    const hdf5::File file(H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), "H5Fopen");
    const hdf5::Dataset dataset(H5Dopen2(file.id(), "tissue/name", H5P_DEFAULT), "name");
    names = H5Dget_offset(dataset.id());
  }
  for (const std::uint64_t number : {0U, 4000U}) {
    EXPECT_NE(with(names + 12, number, 4).find("where its texts are"), std::string::npos);
  }
  EXPECT_EQ(with(names, heap.bytes[names] & 0xFF, 1), "accepted");
}

TEST(StoredResult, RefusesForeignAndCutFiles)
{
  const TemporaryFolder folder;
  EXPECT_NE(refusal(folder / "none.h5").find("no such file"), std::string::npos);
  std::ofstream(folder / "text.h5") << "not HDF5";
  EXPECT_NE(refusal(folder / "text.h5").find("no HDF5 file"), std::string::npos);
  const std::filesystem::path path =
      write_sample(folder / "result.h5", sample_result(), 3);
  const auto size = std::filesystem::file_size(path);
  for (const double share : {0.1, 0.5, 0.9}) {
    std::filesystem::resize_file(
        path, static_cast<std::uintmax_t>(share * static_cast<double>(size)));
    const std::string message = refusal(path);
    EXPECT_NE(message.find("cannot read"), std::string::npos) << share << message;
    write_sample(folder / "result.h5", sample_result(), 3);
  }
}

}  // namespace
}  // namespace torsowave::postproc
