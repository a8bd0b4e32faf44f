#include "postproc/stored_result.hpp"

#include <gtest/gtest.h>
#include <hdf5.h>

#include <cmath>
#include <cstring>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <sstream>

#include "postproc/hdf5_handle.hpp"
#include "postproc/sample_result.hpp"
#include "postproc/temporary_folder.hpp"

namespace torsowave::postproc {
namespace {

/// Every member of a result as text, numbers to the last bit. Structured bindings name
/// all members of a struct: one that is added later does not compile until it is here.
class Listing {
public:
  Listing() { out_ << std::hexfloat; }

  void add(const Result& result)
  {
    const auto& [title, mode, yaml, digest, created, source, grid, run, tissues, titles,
                 labels, materials, frequencies, sectors, far, link, phasors, sar, probes,
                 energy, implant, power, rim, layers, refinement, notes] = result;
    all(title, mode, yaml, digest, created, source, grid, run, tissues, titles, labels,
        materials, frequencies, sectors, far, link, phasors, sar, probes, energy, implant,
        power, rim, layers, refinement, notes);
  }

  [[nodiscard]] std::string text() const { return out_.str(); }

private:
  template <class... Values>
  void all(const Values&... values)
  {
    out_ << "{\n";
    (add(values), ...);
    out_ << "}\n";
  }
  void add(const std::string& text) { out_ << text << '\n'; }
  void add(double value) { out_ << value << '\n'; }
  void add(int value) { out_ << value << '\n'; }
  void add(long value) { out_ << value << '\n'; }
  void add(std::uint64_t value) { out_ << value << '\n'; }
  template <class Part>
  void add(const std::complex<Part>& value)
  {
    out_ << value << '\n';
  }
  template <class Value>
  void add(const std::optional<Value>& value)
  {
    value ? add(*value) : add(std::string("none"));
  }
  template <class Value>
  void add(const std::vector<Value>& values)
  {
    out_ << values.size() << " of\n";
    for (const Value& value : values) {
      add(value);
    }
  }
  void add(const std::map<std::string, double>& values)
  {
    for (const auto& [name, value] : values) {
      all(name, value);
    }
  }
  void add(const geometry::Point& point) { all(point.x, point.y); }
  void add(const SourceInfo& source)
  {
    const auto& [kind, unit, power_unit] = source;
    all(kind, unit, power_unit);
  }
  void add(const LayerInfo& layer)
  {
    const auto& [tissue, from, to] = layer;
    all(tissue, from, to);
  }
  void add(const GridInfo& grid)
  {
    const auto& [nx, ny, cell, time_step, steps, absorbing, x, y] = grid;
    all(nx, ny, cell, time_step, steps, absorbing, x, y);
  }
  void add(const RunInfo& run)
  {
    const auto& [wall, threads, updates, memory, because, instructions] = run;
    all(wall, threads, updates, memory, because, instructions);
  }
  void add(const MaterialInfo& material)
  {
    const auto& [tissue, error, poles, area] = material;
    all(tissue, error, poles, area);
  }
  void add(const LayerErrors& errors)
  {
    const auto& [reflectance, transmittance, first, last, absorbed] = errors;
    all(reflectance, transmittance, first, last, absorbed);
  }
  void add(const LayerResponse& slab)
  {
    const auto& [reflection, reflectance, transmittance, first, last, absorbed, fit, grid,
                 refinement] = slab;
    all(reflection, reflectance, transmittance, first, last, absorbed, fit, grid,
        refinement);
  }
  void add(const FarFieldResult& far)
  {
    const auto& [intensity, gain, insertion, width, error] = far;
    all(intensity, gain, insertion, width, error);
  }
  void add(const FrequencyResult& at)
  {
    const auto& [frequency, source, absorbed, by_tissue, surface, radiated, residual,
                 sectors, slab, far, gain, link, sar, uncertainty, errors,
                 sector_errors] = at;
    static_cast<void>(link);  // worked out again from the gain
    all(frequency, source, absorbed, by_tissue, surface, radiated, residual, sectors,
        slab, far, gain, sar, uncertainty, errors, sector_errors);
  }
  void add(const SarResult& sar)
  {
    const auto& [slice, capsule, away, away_from] = sar;
    all(slice, capsule, away, away_from);
  }
  void add(const SarPeaks& peaks)
  {
    const auto& [local, one_gram, ten_gram] = peaks;
    all(local, one_gram, ten_gram);
  }
  void add(const SarSpot& spot)
  {
    const auto& [value, at, tissue, side] = spot;
    all(value, at, tissue, side);
  }
  void add(const CapsuleSar& capsule)
  {
    const auto& [delivered, end_on, broadside, one, one_side, ten, ten_side, tissue] =
        capsule;
    all(delivered, end_on, broadside, one, one_side, ten, ten_side, tissue);
  }
  void add(const AntennaGain& antenna)
  {
    const auto& [delivered, eirp, gain, uncertainty] = antenna;
    all(delivered, eirp, gain, uncertainty);
  }
  void add(const LinkBasis& basis)
  {
    const auto& [to_skin, extent, assumptions] = basis;
    all(to_skin, extent, assumptions);
  }
  void add(const Refinement& refinement)
  {
    const auto& [cell, ratio, order, steps, wall] = refinement;
    all(cell, ratio, order, steps, wall);
  }
  void add(const ProbeResult& probe)
  {
    const auto& [name, x, y, field, time, value] = probe;
    all(name, x, y, field, time, value);
  }
  void add(const EnergyTrace& energy)
  {
    const auto& [time, total] = energy;
    all(time, total);
  }
  void add(const PhasorField& field)
  {
    const auto& [name, units, long_name, values] = field;
    all(name, units, long_name, values);
  }

  std::ostringstream out_;
};

std::string listing(const Result& result)
{
  Listing listing;
  listing.add(result);
  return listing.text();
}

/// The sample with what is optional in it: more fields, more probes.
Result full_slice()
{
  Result result = sample_result();
  result.grid.absorbing_cells = 1;
  PhasorField magnetic = sample_phasor(result.grid);
  magnetic.name = "Hx";
  magnetic.units = "A/m";
  result.phasors.push_back(magnetic);
  ProbeResult later = result.probes.front();
  later.field = "Hx";
  later.time = {0.5e-12, 1.5e-12};
  later.value = {1.0, 2.0};
  ProbeResult other = result.probes.front();
  other.name = "a-left";
  other.x = 1e-3;
  result.probes.insert(result.probes.end(), {later, other});
  result.link = LinkBasis{{0.1, 0.2, 0.0}, 0.33, {"one tissue: muscle", "no losses"}};
  result.frequencies.front().antenna_gain =
      AntennaGain{2.5e5,
                  {0.5, 0.25, 0.0},
                  {-57.0, -60.0, -std::numeric_limits<double>::infinity()},
                  {{"fit", 0.25}, {"surroundings", 3.0}}};
  result.materials.insert(
      result.materials.begin(),
      {.tissue = "air", .fit_max_relative_error = 0.0, .poles = 0, .area = 1e-6});
  return result;
}

/// Mode 1D under a plane wave: layers and what becomes of the wave there.
Result full_row()
{
  constexpr double far = std::numeric_limits<double>::infinity();
  Result result = sample_result();
  result.mode = "1D";
  result.source = {"plane wave", "V/m", "W/m2"};
  result.grid.ny = 1;
  result.grid.y = {0.0};
  result.labels = {0, 1, 1, 2, 2};
  result.sar.resize(std::size_t{2} * 5);
  result.phasors.front().values.resize(std::size_t{2} * 5);
  result.implant.reset();
  result.scattered_rim = -0.75e-3;
  result.layers = {
      {"air", -far, -0.6e-3}, {"fat", -0.6e-3, 0.2e-3}, {"muscle", 0.2e-3, far}};
  result.sector_angle_deg.clear();
  result.far_angle_deg.clear();
  for (FrequencyResult& f : result.frequencies) {
    f.sector_power.clear();
    f.sector_grid_error_db.clear();
    f.far_field.reset();
    f.slab = LayerResponse{.reflection = std::complex<double>{0.1, -0.7},
                           .reflectance = 0.5,
                           .transmittance = 0.3,
                           .into_first = {},
                           .into_last = {},
                           .absorbed_by_layer = {0.2},
                           .fit_error = {0.01, 0.02, {}, {}, {0.03}},
                           .grid_error = {0.04, 0.05, {}, {}, {0.06}},
                           .refinement_error = {}};
  }
  result.frequencies.front().slab->refinement_error =
      LayerErrors{0.07, far, {}, {}, {0.09}};
  result.frequencies.back().slab = LayerResponse{.reflection = {},
                                                 .reflectance = {},
                                                 .transmittance = {},
                                                 .into_first = 0.25,
                                                 .into_last = 0.5,
                                                 .absorbed_by_layer = {0.125},
                                                 .fit_error = {{}, {}, 0.1, 0.2, {0.3}},
                                                 .grid_error = {},
                                                 .refinement_error = {}};
  return result;
}

std::filesystem::path write(const TemporaryFolder& folder, const Result& result,
                            int snapshots = 0)
{
  std::filesystem::path path = folder / "result.h5";
  ResultFile file(path, result.grid, sample_plan());
  for (int n = 0; n < snapshots; ++n) {
    file.append(sample_snapshot(n));
  }
  file.commit(result);
  return path;
}

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

TEST(StoredResult, GivesBackEveryField)
{
  Result bare = sample_result();
  bare.implant.reset();
  bare.refinement.reset();
  bare.notes.clear();
  bare.sar.clear();
  bare.probes.clear();
  for (const Result& result : {full_slice(), full_row(), bare}) {
    const TemporaryFolder folder;
    EXPECT_EQ(listing(read_result(write(folder, result))), listing(result));
  }
}

TEST(StoredResult, ReadsSnapshotsOneByOne)
{
  const TemporaryFolder folder;
  const StoredSnapshots stored(write(folder, sample_result(), 3));
  EXPECT_EQ(stored.times(), (std::vector<double>{0.0, 1e-10, 2e-10}));
  EXPECT_EQ(stored.plan().field, "Ez");
  EXPECT_EQ(stored.plan().units, "V/m");
  EXPECT_EQ(stored.plan().stride, 2);
  EXPECT_EQ(stored.plan().shown, sample_plan().shown);
  EXPECT_EQ(stored.plan().long_name, sample_plan().long_name);
  for (const int n : {2, 0}) {
    const Snapshot frame = stored.frame(static_cast<std::size_t>(n));
    EXPECT_EQ(frame.time, sample_snapshot(n).time);
    EXPECT_EQ(frame.values, sample_snapshot(n).values);
  }
  EXPECT_THROW(static_cast<void>(stored.frame(3)), std::out_of_range);
  EXPECT_EQ(StoredSnapshots(write(folder, sample_result())).count(), 0U);
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
      {"/grid/x has 0.1 m for cell 1",
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
      {"the group tissue is missing",
       [](hid_t f) { H5Ldelete(f, "tissue", H5P_DEFAULT); }},
      {"x has the shape (1000001)",
       [](hid_t f) { replace(f, "grid/x", H5T_NATIVE_DOUBLE, {1000001}); }},
      {"Ez has the shape (3, 2, 4), expected (3, 2, 3)", [](hid_t f) {
         replace(f, "snapshots/Ez", H5T_NATIVE_FLOAT, {3, 2, 4});
       }}};
  for (const Damage& damage : damages) {
    const TemporaryFolder folder;
    const std::filesystem::path path = write(folder, sample_result(), 3);
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
  const std::filesystem::path path = write(folder, sample_result(), 3);
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
  const std::filesystem::path path = write(folder, sample_result(), 3);
  const auto size = std::filesystem::file_size(path);
  for (const double share : {0.1, 0.5, 0.9}) {
    std::filesystem::resize_file(
        path, static_cast<std::uintmax_t>(share * static_cast<double>(size)));
    const std::string message = refusal(path);
    EXPECT_NE(message.find("cannot read"), std::string::npos) << share << message;
    write(folder, sample_result(), 3);
  }
}

}  // namespace
}  // namespace torsowave::postproc
