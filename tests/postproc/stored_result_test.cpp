#include "postproc/stored_result.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <map>
#include <sstream>

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
    EXPECT_EQ(listing(read_result(write_sample(folder / "result.h5", result))),
              listing(result));
  }
}

TEST(StoredResult, ReadsSnapshotsOneByOne)
{
  const TemporaryFolder folder;
  const StoredSnapshots stored(write_sample(folder / "result.h5", sample_result(), 3));
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
  EXPECT_EQ(StoredSnapshots(write_sample(folder / "result.h5", sample_result())).count(),
            0U);
}

}  // namespace
}  // namespace torsowave::postproc
