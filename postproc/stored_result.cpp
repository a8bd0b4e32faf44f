#include "postproc/stored_result.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "postproc/figure_raster.hpp"
#include "postproc/hdf5_driver.hpp"
#include "postproc/hdf5_heap.hpp"
#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_result.hpp"
#include "postproc/result_check.hpp"

namespace torsowave::postproc {
namespace {

constexpr std::int64_t newest_version = 1;

// Far above what a run makes; what claims more is damaged.
constexpr std::size_t most_cells_along = 1000000;
constexpr std::size_t most_names = 65536;
constexpr double most_poles = 64.0;
constexpr std::size_t most_frequencies = 100000;
constexpr std::size_t most_moments = 100000000;

constexpr const char* remedy = "give a result.h5 that \"torsowave run\" wrote";

/// Runs `work` with HDF5 silent, and names the file in what goes wrong.
template <class Work>
auto reading(const std::filesystem::path& path, Work work)
{
  const hdf5::QuietErrors quiet;
  try {
    return work();
  } catch (const WriteError& error) {
    throw ReadError(
        fmt::format("cannot read {}: {}; the file is damaged or not whole: "
                    "run the scenario again",
                    path.string(), error.what()));
  } catch (const ReadError& error) {
    throw ReadError(
        fmt::format("cannot read {}: {}; {}", path.string(), error.what(), remedy));
  }
}

/// \throws ReadError  No file, or none of ours.
[[nodiscard]] hdf5::File open_result(const std::filesystem::path& path)
{
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) {
    throw ReadError(std::filesystem::exists(path, error) ? "it is no file"
                                                         : "there is no such file");
  }
  if (H5Fis_hdf5(path.c_str()) <= 0) {
    throw ReadError("it is no HDF5 file, or one that cannot be opened");
  }
  hdf5::File file = hdf5::open_input(path);
  hdf5::require_sound_heaps(file.id(), path);
  const auto format = hdf5::text_attribute(file.id(), "format");
  if (format != "torsowave-result") {
    throw ReadError(format ? fmt::format("its attribute format is {}, not "
                                         "torsowave-result",
                                         *format)
                           : "it has no attribute format = torsowave-result");
  }
  const std::int64_t version = hdf5::required(
      hdf5::integer_attribute(file.id(), "format_version"), "format_version");
  if (version < 1 || version > newest_version) {
    throw ReadError(fmt::format("its format version is {}, this program reads up to {}",
                                version, newest_version));
  }
  return file;
}

/// Attributes that have to be there; \param owner  of the attribute, for the message
[[nodiscard]] std::string text(hid_t object, const char* name, const std::string& owner)
{
  return hdf5::required(hdf5::text_attribute(object, name),
                        fmt::format("{} of {}", name, owner));
}

[[nodiscard]] double number(hid_t object, const char* name, const std::string& owner)
{
  return hdf5::required(hdf5::number_attribute(object, name),
                        fmt::format("{} of {}", name, owner));
}

[[nodiscard]] std::int64_t integer(hid_t object, const char* name,
                                   const std::string& owner)
{
  return hdf5::required(hdf5::integer_attribute(object, name),
                        fmt::format("{} of {}", name, owner));
}

void read_root(hid_t file, Result& result)
{
  result.title = text(file, "title", "the root");
  result.mode = text(file, "mode", "the root");
  result.scenario_yaml = text(file, "scenario_yaml", "the root");
  result.scenario_sha256 = text(file, "scenario_sha256", "the root");
  result.created = text(file, "created", "the root");
}

/// Attributes that came later have the defaults of Result in older files.
void read_source(hid_t run, Result& result)
{
  SourceInfo& source = result.source;
  source.kind = hdf5::text_attribute(run, "source").value_or(source.kind);
  source.unit = hdf5::text_attribute(run, "per").value_or(source.unit);
  source.power_unit = hdf5::text_attribute(run, "power_unit")
                          .value_or(result.mode == "1D" ? "W/m2" : source.power_unit);
  result.transmit_power = hdf5::number_attribute(run, "transmit_power_w");
  const auto x = hdf5::number_attribute(run, "implant_x_m");
  const auto y = hdf5::number_attribute(run, "implant_y_m");
  if (x && y) {
    result.implant = geometry::Point{*x, *y};
  }
  result.scattered_rim = hdf5::number_attribute(run, "scattered_rim_m");
}

void read_run(hid_t file, Result& result)
{
  const hdf5::Group group = hdf5::open_group(file, "run");
  const hid_t run = group.id();
  result.run = {number(run, "wall_s", "/run"),
                static_cast<int>(integer(run, "threads", "/run")),
                number(run, "cell_updates_per_s", "/run"),
                static_cast<std::uint64_t>(integer(run, "peak_memory_bytes", "/run")),
                text(run, "stopped_because", "/run"),
                text(run, "instruction_set", "/run")};
  read_source(run, result);
  if (hdf5::has(run, "note")) {
    result.notes =
        hdf5::read_texts(run, "note", {hdf5::length_of(run, "note", most_names)});
  }
}

void read_grid(hid_t file, GridInfo& grid)
{
  const hdf5::Group group = hdf5::open_group(file, "grid");
  const hid_t id = group.id();
  const std::size_t nx = hdf5::length_of(id, "x", most_cells_along);
  const std::size_t ny = hdf5::length_of(id, "y", most_cells_along);
  grid.nx = static_cast<int>(nx);
  grid.ny = static_cast<int>(ny);
  grid.x = hdf5::read_doubles(id, "x", {nx});
  grid.y = hdf5::read_doubles(id, "y", {ny});
  grid.cell = number(id, "cell_m", "/grid");
  grid.time_step = number(id, "dt_s", "/grid");
  grid.steps = static_cast<long>(integer(id, "steps", "/grid"));
  const std::int64_t absorbing =
      hdf5::integer_attribute(id, "absorbing_cells").value_or(0);
  if (nx == 0 || ny == 0 || !(grid.cell > 0.0) || absorbing < 0 ||
      absorbing > static_cast<std::int64_t>(most_cells_along)) {
    throw ReadError(
        fmt::format("/grid describes no grid: {} x {} cells of {} m, {} of "
                    "them absorbing",
                    nx, ny, grid.cell, absorbing));
  }
  grid.absorbing_cells = static_cast<int>(absorbing);
}

/// (ny, nx)
[[nodiscard]] hdf5::Shape plane_of(const GridInfo& grid)
{
  return {static_cast<std::size_t>(grid.ny), static_cast<std::size_t>(grid.nx)};
}

/// (frequency, ny, nx)
[[nodiscard]] hdf5::Shape stack_of(const Result& result)
{
  hdf5::Shape shape = plane_of(result.grid);
  shape.insert(shape.begin(), result.frequencies.size());
  return shape;
}

void read_materials(hid_t group, Result& result)
{
  const hdf5::Shape shape{result.tissues.size()};
  const auto areas = hdf5::read_doubles(group, "area", shape);
  const auto errors = hdf5::read_doubles(group, "fit_max_relative_error", shape);
  const auto poles = hdf5::read_doubles(group, "poles", shape);
  for (std::size_t t = 0; t < result.tissues.size(); ++t) {
    if (poles[t] < 0.0 || poles[t] > most_poles) {
      throw ReadError(
          fmt::format("/tissue/poles has {:g} for {}", poles[t], result.tissues[t]));
    }
    if (!std::isnan(poles[t])) {
      result.materials.push_back(
          {result.tissues[t], errors[t], static_cast<int>(poles[t]), areas[t]});
    }
  }
}

void read_tissue(hid_t file, Result& result)
{
  const hdf5::Group group = hdf5::open_group(file, "tissue");
  const hid_t id = group.id();
  const hdf5::Shape names{hdf5::length_of(id, "name", most_names)};
  result.tissues = hdf5::read_texts(id, "name", names);
  result.tissue_titles =
      hdf5::has(id, "title") ? hdf5::read_texts(id, "title", names) : result.tissues;
  result.labels = hdf5::read_labels(id, "label", plane_of(result.grid));
  const auto largest = std::ranges::max_element(result.labels);
  if (largest != result.labels.end() && *largest >= result.tissues.size()) {
    throw ReadError(fmt::format("/tissue/label names tissue {}, but there are {}",
                                *largest, result.tissues.size()));
  }
  read_materials(id, result);
}

/// Fills a map of each frequency from a (frequency, name) variable; NaN is left out.
void read_by_name(hid_t group, const char* name, const char* axis,
                  std::vector<FrequencyResult>& frequencies,
                  std::map<std::string, double> FrequencyResult::*member)
{
  if (!hdf5::has(group, name)) {
    return;
  }
  const std::size_t count = hdf5::length_of(group, axis, most_names);
  const std::vector<std::string> names = hdf5::read_texts(group, axis, {count});
  const std::vector<double> values =
      hdf5::read_doubles(group, name, {frequencies.size(), count});
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    for (std::size_t n = 0; n < count; ++n) {
      if (!std::isnan(values[f * count + n])) {
        (frequencies[f].*member)[names[n]] = values[f * count + n];
      }
    }
  }
}

void read_powers(hid_t file, Result& result)
{
  if (!hdf5::has(file, "powers")) {
    return;
  }
  const hdf5::Group group = hdf5::open_group(file, "powers");
  const hid_t id = group.id();
  const std::size_t count = hdf5::length_of(id, "frequency", most_frequencies);
  result.frequencies.resize(count);
  const auto read = [&](const char* name, double FrequencyResult::*member) {
    const std::vector<double> values = hdf5::read_doubles(id, name, {count});
    for (std::size_t f = 0; f < count; ++f) {
      result.frequencies[f].*member = values[f];
    }
  };
  read("frequency", &FrequencyResult::frequency);
  read("source", &FrequencyResult::source_power);
  read("absorbed", &FrequencyResult::absorbed_power);
  read("radiated", &FrequencyResult::radiated_power);
  read("residual", &FrequencyResult::power_balance_residual);
  const std::vector<double> surface = hdf5::read_doubles(id, "body_surface", {count});
  for (std::size_t f = 0; f < count; ++f) {
    if (!std::isnan(surface[f])) {
      result.frequencies[f].body_surface_power = surface[f];
    }
  }
  read_by_name(id, "absorbed_by_tissue", "tissue", result.frequencies,
               &FrequencyResult::absorbed_by_tissue);
  read_by_name(id, "uncertainty", "cause", result.frequencies,
               &FrequencyResult::uncertainty_db);
  read_by_name(id, "grid_error", "power", result.frequencies,
               &FrequencyResult::grid_error_db);
}

void read_surface(hid_t file, Result& result)
{
  if (!hdf5::has(file, "surface")) {
    return;
  }
  const hdf5::Group group = hdf5::open_group(file, "surface");
  const std::size_t sectors = hdf5::length_of(group.id(), "angle", most_names);
  const std::size_t count = result.frequencies.size();
  result.sector_angle_deg = hdf5::read_doubles(group.id(), "angle", {sectors});
  auto powers = hdf5::read_rows(group.id(), "power", count, sectors);
  auto errors = hdf5::read_rows(group.id(), "grid_error", count, sectors);
  for (std::size_t f = 0; f < count; ++f) {
    result.frequencies[f].sector_power = std::move(powers[f]);
    result.frequencies[f].sector_grid_error_db = std::move(errors[f]);
  }
}

void read_phasors(hid_t file, Result& result)
{
  if (!hdf5::has(file, "phasors")) {
    return;
  }
  const hdf5::Group group = hdf5::open_group(file, "phasors");
  for (const std::string& name : hdf5::members(group.id())) {
    if (name == "frequency" || name == "x" || name == "y") {
      continue;
    }
    PhasorField field{
        name, {}, {}, hdf5::read_complex(group.id(), name, stack_of(result))};
    const hdf5::Dataset dataset = hdf5::open_dataset(group.id(), name);
    field.units = text(dataset.id(), "units", name);
    field.long_name = text(dataset.id(), "long_name", name);
    result.phasors.push_back(std::move(field));
  }
}

void read_energy(hid_t file, EnergyTrace& energy)
{
  if (!hdf5::has(file, "energy")) {
    return;
  }
  const hdf5::Group group = hdf5::open_group(file, "energy");
  const std::size_t count = hdf5::length_of(group.id(), "time", most_moments);
  energy.time = hdf5::read_doubles(group.id(), "time", {count});
  energy.total = hdf5::read_doubles(group.id(), "total", {count});
}

void read_refinement(hid_t file, Result& result)
{
  if (!hdf5::has(file, "refinement")) {
    return;
  }
  const hdf5::Group group = hdf5::open_group(file, "refinement");
  const hid_t id = group.id();
  result.refinement = {number(id, "cell_m", "/refinement"),
                       number(id, "ratio", "/refinement"),
                       number(id, "order", "/refinement"),
                       static_cast<long>(integer(id, "steps", "/refinement")),
                       number(id, "wall_s", "/refinement")};
}

[[nodiscard]] Result read_all(const std::filesystem::path& path)
{
  const hdf5::File opened = open_result(path);
  const hid_t file = opened.id();
  Result result;
  read_root(file, result);
  read_run(file, result);
  read_grid(file, result.grid);
  read_tissue(file, result);
  read_powers(file, result);
  read_phasors(file, result);
  if (hdf5::has(file, "sar")) {
    result.sar = hdf5::read_floats(file, "sar", stack_of(result));
  }
  read_surface(file, result);
  hdf5::read_far_field(file, result);
  hdf5::read_antenna_gain(file, result);
  hdf5::read_sar_peaks(file, result);
  hdf5::read_probes(file, result);
  read_energy(file, result.energy);
  hdf5::read_layers(file, result);
  read_refinement(file, result);
  require_possible(result);
  return result;
}

}  // namespace

Result read_result(const std::filesystem::path& result_h5)
{
  return reading(result_h5, [&] { return read_all(result_h5); });
}

struct StoredSnapshots::State {
  // Destroyed from the last to the first: the file goes after what is in it.
  std::filesystem::path path;
  hdf5::File file;
  hdf5::Group group;
  hdf5::Dataset field;
  SnapshotPlan plan;
  std::vector<double> times;
  hdf5::Shape plane;  ///< of one moment

  void open()
  {
    file = open_result(path);
    if (!hdf5::has(file.id(), "snapshots")) {
      return;
    }
    GridInfo grid;
    read_grid(file.id(), grid);
    group = hdf5::open_group(file.id(), "snapshots");
    const std::int64_t stride = integer(group.id(), "stride", "/snapshots");
    if (stride < 1 || stride > static_cast<std::int64_t>(most_cells_along)) {
      throw ReadError(fmt::format("/snapshots has a stride of {}", stride));
    }
    plan.stride = static_cast<int>(stride);
    plan.shown = hdf5::numbers_attribute(group.id(), "shown_s", most_names);
    plane = {static_cast<std::size_t>(kept(grid.ny, plan.stride)),
             static_cast<std::size_t>(kept(grid.nx, plan.stride))};
    open_field();
  }

  void open_field()
  {
    for (const std::string& name : hdf5::members(group.id())) {
      if (name != "time" && name != "x" && name != "y") {
        plan.field = name;
      }
    }
    field = hdf5::open_dataset(group.id(), plan.field);
    const std::size_t count = hdf5::length_of(group.id(), "time", most_moments);
    hdf5::require_shape(field.id(), plan.field, {count, plane[0], plane[1]},
                        sizeof(float));
    plan.units = text(field.id(), "units", plan.field);
    plan.long_name = text(field.id(), "long_name", plan.field);
    times = hdf5::read_doubles(group.id(), "time", {count});
    require_ascending(times, "/snapshots/time");
  }

  void read(std::size_t index, std::vector<float>& values) const
  {
    const std::vector<hsize_t> start{index, 0, 0};
    const std::vector<hsize_t> size{1, plane[0], plane[1]};
    const hdf5::Space from(H5Dget_space(field.id()), "H5Dget_space");
    hdf5::check(H5Sselect_hyperslab(from.id(), H5S_SELECT_SET, start.data(), nullptr,
                                    size.data(), nullptr),
                "H5Sselect_hyperslab");
    const hdf5::Space to(H5Screate_simple(3, size.data(), nullptr), "H5Screate_simple");
    values.resize(plane[0] * plane[1]);
    hdf5::check(H5Dread(field.id(), H5T_NATIVE_FLOAT, to.id(), from.id(), H5P_DEFAULT,
                        values.data()),
                fmt::format("H5Dread of moment {} of {}", index, plan.field));
  }
};

StoredSnapshots::StoredSnapshots(const std::filesystem::path& result_h5)
    : state_(std::make_unique<State>())
{
  state_->path = result_h5;
  reading(result_h5, [&] { state_->open(); });
}

StoredSnapshots::~StoredSnapshots() = default;
StoredSnapshots::StoredSnapshots(StoredSnapshots&&) noexcept = default;
StoredSnapshots& StoredSnapshots::operator=(StoredSnapshots&&) noexcept = default;

std::size_t StoredSnapshots::count() const noexcept
{
  return state_->times.size();
}

const std::vector<double>& StoredSnapshots::times() const noexcept
{
  return state_->times;
}

const SnapshotPlan& StoredSnapshots::plan() const noexcept
{
  return state_->plan;
}

Snapshot StoredSnapshots::frame(std::size_t index) const
{
  Snapshot snapshot{state_->times.at(index), {}};
  reading(state_->path, [&] { state_->read(index, snapshot.values); });
  return snapshot;
}

}  // namespace torsowave::postproc
