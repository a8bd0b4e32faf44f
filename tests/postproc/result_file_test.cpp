#include "postproc/result_file.hpp"

#include <hdf5.h>

#include <algorithm>
#include <chrono>
#include <complex>
#include <fstream>
#include <thread>

#include "postproc/hdf5_handle.hpp"
#include "postproc/sample_result.hpp"
#include "postproc/temporary_folder.hpp"

namespace torsowave::postproc {
namespace {

hdf5::File open_file(const std::filesystem::path& path)
{
  return {H5Fopen(path.c_str(), H5F_ACC_RDONLY, H5P_DEFAULT), "H5Fopen"};
}

std::vector<hsize_t> shape_of(const hdf5::File& file, const char* name)
{
  const hdf5::Dataset dataset(H5Dopen2(file.id(), name, H5P_DEFAULT), name);
  const hdf5::Space space(H5Dget_space(dataset.id()), name);
  std::vector<hsize_t> shape(
      static_cast<std::size_t>(H5Sget_simple_extent_ndims(space.id())));
  H5Sget_simple_extent_dims(space.id(), shape.data(), nullptr);
  return shape;
}

template <class T>
std::vector<T> values_of(const hdf5::File& file, const char* name, hid_t type)
{
  std::size_t size = 1;
  for (const hsize_t extent : shape_of(file, name)) {
    size *= extent;
  }
  std::vector<T> values(size);
  const hdf5::Dataset dataset(H5Dopen2(file.id(), name, H5P_DEFAULT), name);
  hdf5::check(H5Dread(dataset.id(), type, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()),
              name);
  return values;
}

bool has(const hdf5::File& file, const char* name)
{
  return H5Lexists(file.id(), name, H5P_DEFAULT) > 0;
}

void write(const std::filesystem::path& path, const Result& result, int snapshots)
{
  ResultFile file(path, result.grid, sample_plan());
  for (int n = 0; n < snapshots; ++n) {
    file.append(sample_snapshot(n));
  }
  file.commit(result);
}

TEST(ResultFile, GivesBackWhatWasStored)
{
  const TemporaryFolder folder;
  const Result result = sample_result();
  write(folder / "result.h5", result, 3);
  const hdf5::File file = open_file(folder / "result.h5");
  using Shape = std::vector<hsize_t>;
  EXPECT_EQ(values_of<double>(file, "/grid/x", H5T_NATIVE_DOUBLE), result.grid.x);
  EXPECT_EQ(values_of<double>(file, "/grid/y", H5T_NATIVE_DOUBLE), result.grid.y);
  EXPECT_EQ(shape_of(file, "/tissue/label"), (Shape{3, 5}));
  EXPECT_EQ(values_of<std::uint16_t>(file, "/tissue/label", H5T_NATIVE_UINT16),
            result.labels);
  EXPECT_EQ(shape_of(file, "/sar"), (Shape{2, 3, 5}));
  EXPECT_EQ(values_of<float>(file, "/sar", H5T_NATIVE_FLOAT), result.sar);
  EXPECT_EQ(shape_of(file, "/surface/power"), (Shape{2, 4}));
  EXPECT_EQ(shape_of(file, "/far_field/gain"), (Shape{2, 3}));
  EXPECT_EQ(values_of<double>(file, "/far_field/angle", H5T_NATIVE_DOUBLE),
            result.far_angle_deg);
  EXPECT_FALSE(has(file, "/far_field/scattering_width"));
  EXPECT_EQ(values_of<double>(file, "/powers/source", H5T_NATIVE_DOUBLE),
            (std::vector<double>{10.0, 20.0}));
  EXPECT_EQ(values_of<double>(file, "/probes/front/Ez", H5T_NATIVE_DOUBLE),
            result.probes[0].value);
  EXPECT_EQ(values_of<double>(file, "/energy/total", H5T_NATIVE_DOUBLE),
            result.energy.total);
}

TEST(ResultFile, GivesBackPhasors)
{
  const TemporaryFolder folder;
  const Result result = sample_result();
  write(folder / "result.h5", result, 0);
  const hdf5::File file = open_file(folder / "result.h5");
  const hdf5::Dataset dataset(H5Dopen2(file.id(), "/phasors/Ez", H5P_DEFAULT),
                              "H5Dopen2");
  const hdf5::Type type(H5Dget_type(dataset.id()), "H5Dget_type");
  EXPECT_GT(H5Tcommitted(type.id()), 0);
  ASSERT_EQ(H5Tget_nmembers(type.id()), 2);
  EXPECT_EQ(H5Tget_member_index(type.id(), "r"), 0);
  EXPECT_EQ(H5Tget_member_index(type.id(), "i"), 1);
  EXPECT_EQ(values_of<std::complex<float>>(file, "/phasors/Ez", type.id()),
            result.phasors[0].values);
}

TEST(ResultFile, AppendsSnapshots)
{
  const TemporaryFolder folder;
  constexpr int count = 300;  // more than one chunk of the time coordinate
  write(folder / "result.h5", sample_result(), count);
  const hdf5::File file = open_file(folder / "result.h5");
  EXPECT_EQ(shape_of(file, "/snapshots/Ez"), (std::vector<hsize_t>{count, 2, 3}));
  EXPECT_EQ(values_of<double>(file, "/snapshots/x", H5T_NATIVE_DOUBLE),
            (std::vector<double>{-1e-3, 0.0, 1e-3}));
  std::vector<float> expected;
  std::vector<double> time;
  for (int n = 0; n < count; ++n) {
    const Snapshot snapshot = sample_snapshot(n);
    expected.insert(expected.end(), snapshot.values.begin(), snapshot.values.end());
    time.push_back(snapshot.time);
  }
  EXPECT_EQ(values_of<float>(file, "/snapshots/Ez", H5T_NATIVE_FLOAT), expected);
  EXPECT_EQ(values_of<double>(file, "/snapshots/time", H5T_NATIVE_DOUBLE), time);
}

TEST(ResultFile, WhatAResultLeavesEmptyIsAbsent)
{
  const TemporaryFolder folder;
  Result result = sample_result();
  result.sar.clear();
  result.sector_angle_deg.clear();
  result.frequencies[0].far_field.reset();
  result.phasors.clear();
  result.probes.clear();
  result.energy = {};
  write(folder / "result.h5", result, 0);
  const hdf5::File file = open_file(folder / "result.h5");
  for (const char* name : {"sar", "x", "y", "frequency", "complex64", "surface",
                           "far_field", "phasors", "probes", "energy", "snapshots"}) {
    EXPECT_FALSE(has(file, name)) << name;
  }
  EXPECT_TRUE(has(file, "powers"));
}

TEST(ResultFile, KeepsProbesThatShareANameOrHoldASlash)
{
  const TemporaryFolder folder;
  Result result = sample_result();
  ProbeResult magnetic = result.probes[0];
  magnetic.field = "Hx";
  magnetic.time = {0.5e-12, 1.5e-12};
  magnetic.value = {1.0, 2.0};
  ProbeResult same_time = result.probes[0];
  same_time.field = "Hy";
  ProbeResult slash = result.probes[0];
  slash.name = "left/upper";
  result.probes.insert(result.probes.end(), {magnetic, same_time, slash});
  write(folder / "result.h5", result, 0);
  const hdf5::File file = open_file(folder / "result.h5");
  EXPECT_EQ(values_of<double>(file, "/probes/front/Hx", H5T_NATIVE_DOUBLE),
            magnetic.value);
  EXPECT_EQ(values_of<double>(file, "/probes/front/time_Hx", H5T_NATIVE_DOUBLE),
            magnetic.time);
  EXPECT_EQ(values_of<double>(file, "/probes/front/Hy", H5T_NATIVE_DOUBLE),
            same_time.value);
  EXPECT_EQ(values_of<double>(file, "/probes/left_upper/Ez", H5T_NATIVE_DOUBLE),
            slash.value);
}

TEST(ResultFile, StoresAScenarioLargerThanAnObjectHeader)
{
  const TemporaryFolder folder;
  Result result = sample_result();
  result.scenario_yaml = std::string(1 << 20, '#');
  write(folder / "result.h5", result, 0);
  const hdf5::File file = open_file(folder / "result.h5");
  const hdf5::Attribute attribute(H5Aopen(file.id(), "scenario_yaml", H5P_DEFAULT),
                                  "H5Aopen");
  const hdf5::Type type(H5Aget_type(attribute.id()), "H5Aget_type");
  char* text = nullptr;
  ASSERT_GE(H5Aread(attribute.id(), type.id(), &text), 0);
  EXPECT_EQ(std::string(text), result.scenario_yaml);
  H5free_memory(text);
}

std::string bytes_of(const std::filesystem::path& path)
{
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(ResultFile, EqualResultsMakeEqualFiles)
{
  const TemporaryFolder folder;
  write(folder / "a.h5", sample_result(), 3);
  // HDF5's time stamps count whole seconds.
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));
  write(folder / "b.h5", sample_result(), 3);
  EXPECT_TRUE(bytes_of(folder / "a.h5") == bytes_of(folder / "b.h5"));
}

TEST(ResultFile, IsAbsentUnlessCommitted)
{
  const TemporaryFolder folder;
  {
    ResultFile file(folder / "result.h5", sample_grid(), sample_plan());
    EXPECT_FALSE(folder.is_empty());
    file.append(sample_snapshot(0));
    EXPECT_FALSE(std::filesystem::exists(folder / "result.h5"));
  }
  EXPECT_TRUE(folder.is_empty());
}

TEST(ResultFile, AnAbandonedRunLeavesTheOldResult)
{
  const TemporaryFolder folder;
  const auto path = folder / "result.h5";
  std::ofstream(path) << "old";
  {
    ResultFile file(path, sample_grid(), std::nullopt);
  }
  EXPECT_EQ(std::filesystem::file_size(path), 3U);
  write(path, sample_result(), 1);
  EXPECT_TRUE(has(open_file(path), "snapshots"));
}

TEST(ResultFile, AFolderThatCannotBeWrittenFailsAtOnce)
{
  const TemporaryFolder folder;
  const auto path = folder / "missing" / "result.h5";
  const std::string message = message_of<WriteError>(
      [&] { const ResultFile file(path, sample_grid(), std::nullopt); });
  EXPECT_EQ(message, "cannot write " + path.string() + ": No such file or directory");
}

TEST(ResultFile, AReadOnlyFolderFailsAtOnce)
{
  if (::geteuid() == 0) {
    GTEST_SKIP() << "permissions do not bind the superuser";
  }
  const TemporaryFolder folder;
  std::filesystem::permissions(folder / "", std::filesystem::perms::owner_read |
                                                std::filesystem::perms::owner_exec);
  const auto path = folder / "result.h5";
  EXPECT_EQ(message_of<WriteError>(
                [&] { const ResultFile file(path, sample_grid(), std::nullopt); }),
            "cannot write " + path.string() + ": Permission denied");
}

TEST(ResultFile, AFullDiskAtCommitLeavesNothing)
{
  const TemporaryFolder folder;
  const auto path = folder / "result.h5";
  ::testing::internal::CaptureStderr();
  const std::string message = message_of<WriteError>([&] {
    const FileSizeLimit full(16384);
    write(path, sample_result(), 3);
  });
  EXPECT_EQ(::testing::internal::GetCapturedStderr(), "");
  EXPECT_EQ(message, "cannot write " + path.string() + ": File too large");
  EXPECT_TRUE(folder.is_empty());
}

TEST(ResultFile, AFullDiskWhileRunningLeavesNothing)
{
  const TemporaryFolder folder;
  const auto path = folder / "result.h5";
  GridInfo grid = sample_grid();
  grid.x.assign(400, 0.0);
  grid.y.assign(400, 0.0);
  const std::string message = message_of<WriteError>([&] {
    ResultFile file(path, grid, SnapshotPlan{});
    const FileSizeLimit full(500'000);
    Snapshot snapshot{.time = 0.0, .values = std::vector<float>(160'000)};
    unsigned noise = 1;  // so that frames do not compress
    for (int n = 0; n < 10; ++n) {
      for (float& value : snapshot.values) {
        noise = noise * 1664525U + 1013904223U;
        value = static_cast<float>(noise);
      }
      file.append(snapshot);
    }
  });
  EXPECT_EQ(message, "cannot write " + path.string() + ": File too large");
  EXPECT_TRUE(folder.is_empty());
}

TEST(ResultFile, RefusesWhatDoesNotFit)
{
  const TemporaryFolder folder;
  SnapshotPlan plan = sample_plan();
  plan.stride = 0;
  EXPECT_THROW(ResultFile(folder / "a.h5", sample_grid(), plan), std::invalid_argument);
  ResultFile file(folder / "result.h5", sample_grid(), sample_plan());
  EXPECT_THROW(file.append({.time = 0.0, .values = {1.0F}}), std::invalid_argument);
  Result result = sample_result();
  result.sar.pop_back();
  EXPECT_EQ(message_of<std::invalid_argument>([&] { file.commit(result); }),
            "sar holds 29 values for the shape (2, 3, 5)");
}

TEST(ResultFile, RefusesUseOutOfOrder)
{
  const TemporaryFolder folder;
  ResultFile file(folder / "result.h5", sample_grid(), std::nullopt);
  EXPECT_THROW(file.append(sample_snapshot(0)), std::logic_error);
  file.commit(sample_result());
  EXPECT_THROW(file.commit(sample_result()), std::logic_error);
  EXPECT_THROW(file.append(sample_snapshot(0)), std::logic_error);
}

}  // namespace
}  // namespace torsowave::postproc
