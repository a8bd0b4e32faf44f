#include "app/run_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>

#include "app/machine_error.hpp"
#include "app/source_check.hpp"
#include "materials/constants.hpp"
#include "materials/wave_quantities.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/samples_file.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {
namespace {

using scenarios::Scenario;
using scenarios::WaveformKind;

constexpr double fewest_cells_per_wavelength = 10.0;
/// Air cells between the absorber and the contour that radiated power is counted on.
constexpr int contour_gap = 2;

[[noreturn]] void refuse_key(const Scenario& scenario, const std::string& key,
                             const std::string& problem)
{
  throw scenarios::InputError({{scenario.where(key), key, problem}});
}

[[nodiscard]] double highest_frequency(const Scenario& scenario)
{
  return scenario.frequencies.back();
}

[[nodiscard]] const materials::Tissue& tissue_named(const Scenario& scenario,
                                                    const std::string& name)
{
  for (const materials::Tissue& tissue : scenario.materials.custom) {
    if (tissue.name == name) {
      return tissue;
    }
  }
  return *materials::find_tissue(name);  // the reader has checked every name
}

/// Background, shapes, capsule: the order in which voxelise() numbers the tissues.
[[nodiscard]] std::vector<materials::Tissue> tissues_of(const Scenario& scenario)
{
  std::vector<materials::Tissue> tissues;
  const auto add = [&](const std::string& name) {
    const auto same = [&](const materials::Tissue& t) { return t.name == name; };
    if (std::none_of(tissues.begin(), tissues.end(), same)) {
      tissues.push_back(tissue_named(scenario, name));
    }
  };
  add(scenario.body.background);
  for (const geometry::Shape& shape : scenario.body.shapes) {
    add(shape.tissue);
  }
  if (scenario.implant->capsule) {
    add(scenario.implant->capsule->material);
  }
  return tissues;
}

[[nodiscard]] std::vector<geometry::Shape> capsules_of(const Scenario& scenario)
{
  if (!scenario.implant->capsule) {
    return {};
  }
  const scenarios::Capsule& capsule = *scenario.implant->capsule;
  return {
      {capsule.material, geometry::Circle{scenario.implant->position, capsule.radius}}};
}

[[nodiscard]] std::vector<Sampling> wavelengths(
    const std::vector<materials::Tissue>& tissues, double frequency)
{
  std::vector<Sampling> result;
  for (const materials::Tissue& tissue : tissues) {
    if (!materials::is_conductor(tissue)) {
      const auto eps = materials::relative_permittivity(tissue, frequency);
      result.push_back(
          {tissue.name, materials::wave_quantities(eps, frequency).wavelength, 0.0});
    }
  }
  return result;
}

[[nodiscard]] double cell_of(const Scenario& scenario,
                             const std::vector<Sampling>& sampling)
{
  if (scenario.grid.cell) {
    return *scenario.grid.cell;
  }
  double shortest = std::numeric_limits<double>::infinity();
  for (const Sampling& s : sampling) {
    shortest = std::min(shortest, s.wavelength);
  }
  return shortest / *scenario.grid.cells_per_wavelength;
}

void check_sampling(const Scenario& scenario, const std::vector<Sampling>& sampling,
                    double cell)
{
  if (scenario.grid.allow_coarse) {
    return;
  }
  for (const Sampling& s : sampling) {
    if (s.cells < fewest_cells_per_wavelength) {
      refuse_key(
          scenario, scenario.grid.cell ? "grid.cell" : "grid.cells_per_wavelength",
          fmt::format("{:.3g} mm is {:.1f} cells per wavelength in {} at {:.4g} MHz, too "
                      "coarse; write {:.3g} mm or less, or grid.allow_coarse: true",
                      cell * 1e3, s.cells, s.tissue, highest_frequency(scenario) * 1e-6,
                      s.wavelength / fewest_cells_per_wavelength * 1e3));
    }
  }
}

[[nodiscard]] materials::DebyePalette fit(const RunPlan& plan)
{
  const scenarios::MaterialsSpec& spec = plan.scenario.materials;
  try {
    return materials::fit_debye(
        plan.tissues, {plan.band_from, plan.band_to, spec.fit_poles, spec.fit_max_error});
  } catch (const materials::FitRefused& error) {
    refuse_key(plan.scenario, "materials.fit", error.what());
  }
}

[[nodiscard]] MemoryNeed memory_of(const Scenario& scenario,
                                   const geometry::Raster& raster, std::size_t poles)
{
  MemoryNeed need;
  const int count = static_cast<int>(poles);
  need.fields =
      scenario.grid.precision == scenarios::Precision::single_precision
          ? solver::TmzStepper<float>::memory_bytes(raster.nx, raster.ny, count)
          : solver::TmzStepper<double>::memory_bytes(raster.nx, raster.ny, count);
  const std::uint64_t cells =
      static_cast<std::uint64_t>(raster.nx) * static_cast<std::uint64_t>(raster.ny);
  const std::uint64_t frequencies = scenario.frequencies.size();
  need.phasors = solver::PhasorRecorder::memory_bytes(raster.nx, raster.ny, frequencies);
  // Palette indices, labels and masks; results per ampere (complex float) and SAR
  // (float).
  need.maps = cells * (2 + 2 + 2 + 1 + 1 + 1) +
              cells * frequencies * (8 * stored_phasors(scenario.outputs).size() + 4);
  return need;
}

/// \throws MachineError  What `need` [bytes] names is not there.
void check_memory(double need, double columns, double rows)
{
  const auto there = static_cast<double>(available_memory());
  if (need > there) {
    throw MachineError(fmt::format(
        "{:.6g} x {:.6g} cells need {:.2f} GiB of memory and {:.2f} GiB are available; "
        "use larger cells, a smaller domain or fewer frequencies",
        columns, rows, need / 0x1p30, there / 0x1p30));
  }
}

/// Sizes beyond what is counted in integers are refused for the memory that they need
/// too, by that of a smaller grid in proportion.
void check_size(const Scenario& scenario, double columns, double rows, std::size_t poles)
{
  constexpr double most = 1e6;
  if (columns <= most && rows <= most) {
    return;
  }
  constexpr int side = 1000;
  const MemoryNeed part = memory_of(scenario, {side, side, 1.0, {}}, poles);
  check_memory(static_cast<double>(part.total()) * (columns / side) * (rows / side),
               columns, rows);
  throw MachineError(
      fmt::format("the grid would have {:.6g} x {:.6g} cells, more than "
                  "{:.0e} in a row; use larger cells or a smaller domain",
                  columns, rows, most));
}

/// Cells over the domain, shifted by less than half a cell so that the implant sits on a
/// cell's centre: a filament between cells would be smeared over its neighbours.
[[nodiscard]] geometry::Raster raster_of(const Scenario& scenario, double cell,
                                         std::size_t poles)
{
  geometry::Point low;
  geometry::Point high;
  if (scenario.grid.size) {
    const auto [width, height] = *scenario.grid.size;
    low = {-0.5 * width, -0.5 * height};
    high = {0.5 * width, 0.5 * height};
  } else {
    const geometry::Rectangle box = geometry::bounding_box(scenario.body.shapes);
    const double around = *scenario.grid.margin + scenario.grid.absorbing_cells * cell;
    low = {box.min.x - around, box.min.y - around};
    high = {box.max.x + around, box.max.y + around};
  }
  const geometry::Point at = scenario.implant->position;
  const double columns = std::round((high.x - low.x) / cell);
  const double rows = std::round((high.y - low.y) / cell);
  check_size(scenario, columns, rows, poles);
  const double i = std::round((at.x - low.x) / cell - 0.5);
  const double j = std::round((at.y - low.y) / cell - 0.5);
  return {static_cast<int>(columns),
          static_cast<int>(rows),
          cell,
          {at.x - (i + 0.5) * cell, at.y - (j + 0.5) * cell}};
}

[[nodiscard]] solver::Waveform waveform_of(const Scenario& scenario)
{
  const scenarios::WaveformSpec& spec = scenario.waveform;
  switch (spec.kind) {
    case WaveformKind::cw:
      return solver::cw_waveform(spec.frequency, spec.ramp);
    case WaveformKind::ricker:
      return solver::ricker_waveform(spec.center);
    case WaveformKind::samples: {
      scenarios::Samples samples = scenarios::read_samples(spec.file);
      return solver::sampled_waveform(std::move(samples.time),
                                      std::move(samples.current));
    }
    default:
      return solver::pulse_waveform(spec.center, spec.bandwidth);
  }
}

void choose_band(RunPlan& plan)
{
  const Scenario& scenario = plan.scenario;
  if (scenario.materials.fit_band) {
    plan.band_from = (*scenario.materials.fit_band)[0];
    plan.band_to = (*scenario.materials.fit_band)[1];
  } else {
    plan.band_from = 0.8 * scenario.frequencies.front();
    plan.band_to = 1.25 * scenario.frequencies.back();
  }
}

/// dt and the interval of observations: at most 32 steps, and at least four samples in
/// the period of the highest frequency that the waveform holds, so that no alias falls on
/// a frequency of interest. A cw period is made a whole number of intervals.
void choose_times(RunPlan& plan)
{
  constexpr int longest_interval = 32;
  const Scenario& scenario = plan.scenario;
  double dt = solver::stable_time_step(plan.grid.raster.cell, scenario.grid.courant);
  const double steps = 1.0 / (4.0 * plan.waveform.highest_frequency * dt);
  plan.interval = std::clamp(static_cast<int>(steps), 1, longest_interval);
  if (scenario.waveform.kind == WaveformKind::samples) {
    plan.interval = 1;  // straight lines between samples: the spectrum has no end
  }
  if (scenario.waveform.kind == WaveformKind::cw) {
    const double period = 1.0 / scenario.waveform.frequency;
    const double intervals = std::ceil(period / (plan.interval * dt));
    plan.period_steps = static_cast<int>(intervals) * plan.interval;
    dt = period / plan.period_steps;
  }
  plan.grid.time_step = dt;
  constexpr double fade_periods = 4.0;  // see solver::fade_weight()
  plan.fade_time = fade_periods / scenario.frequencies.front();
}

void check_source(const RunPlan& plan)
{
  const Scenario& scenario = plan.scenario;
  if (scenario.waveform.kind != WaveformKind::samples) {
    return;  // the reader knows the spectra of the others
  }
  const auto missing = missing_frequency(
      plan.waveform, plan.interval * plan.grid.time_step, scenario.frequencies);
  if (missing) {
    refuse_key(scenario, fmt::format("frequencies[{}]", *missing),
               fmt::format("{} holds as good as nothing at {:.6g} MHz, more than 40 dB "
                           "less than its current could; choose another frequency or "
                           "samples that hold it",
                           scenario.waveform.file.string(),
                           scenario.frequencies[*missing] * 1e-6));
  }
}

[[nodiscard]] double expected_time(const RunPlan& plan)
{
  if (plan.scenario.duration.time) {
    return *plan.scenario.duration.time;
  }
  // The pulse, and what it takes a wave to cross the domain a few times in the slowest
  // tissue (common practice, no published source): an estimate for progress, not a limit.
  double slowest = 1.0;
  for (const materials::FittedMedium& medium : plan.fitted.media) {
    double eps = medium.eps_inf;
    for (const double strength : medium.strengths) {
      eps += strength;
    }
    slowest = std::max(slowest, std::sqrt(eps));
  }
  const double crossing =
      2.0 * std::sqrt(plan.body.area / 3.14159) * slowest / materials::speed_of_light;
  const double begin =
      std::isfinite(plan.waveform.end) ? plan.waveform.end : plan.scenario.waveform.ramp;
  return begin + 2.0 * crossing + plan.fade_time;
}

void place_contours(RunPlan& plan)
{
  const int absorbing = plan.grid.absorbing_cells;
  const geometry::Raster& raster = plan.grid.raster;
  const int margin = absorbing + contour_gap;
  if (2 * margin + 3 >= std::min(raster.nx, raster.ny)) {
    refuse_key(
        plan.scenario, plan.scenario.grid.size ? "grid.size" : "grid.margin",
        fmt::format("{} x {} cells leave no room inside the absorbing layer of {} cells; "
                    "write a larger domain",
                    raster.nx, raster.ny, absorbing));
  }
  plan.radiation = geometry::rectangle_contour(raster, margin);
  plan.body = geometry::find_body(plan.map);
  if (plan.body.clearance > margin + 1) {
    plan.surface = geometry::body_surface(plan.map, plan.body);
  }
  const std::size_t at = raster.at(plan.source_i, plan.source_j);
  if (plan.radiation.inside[at] == 0) {
    refuse_key(plan.scenario, "implant.position",
               "lies in the absorbing layer; move it inwards or enlarge the domain");
  }
  for (const geometry::Share& share : plan.map.palette[plan.map.cells[at]]) {
    if (materials::is_conductor(plan.tissues[share.tissue])) {
      refuse_key(
          plan.scenario, "implant.position",
          "a line current in a perfect conductor radiates nothing; move it out or give "
          "it a capsule");
    }
  }
}

void place_probes(RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const std::vector<scenarios::ProbeSpec>& probes = plan.scenario.outputs.probes;
  for (std::size_t p = 0; p < probes.size(); ++p) {
    const double i = std::floor((probes[p].position.x - raster.corner.x) / raster.cell);
    const double j = std::floor((probes[p].position.y - raster.corner.y) / raster.cell);
    if (i < 0.0 || j < 0.0 || i >= raster.nx || j >= raster.ny) {
      refuse_key(plan.scenario, fmt::format("outputs.probes[{}].position", p),
                 fmt::format("lies outside the domain; move it inside or enlarge {}",
                             plan.scenario.grid.size ? "grid.size" : "grid.margin"));
    }
    plan.probe_cells.push_back({static_cast<int>(i), static_cast<int>(j)});
  }
}

}  // namespace

std::vector<std::string> stored_phasors(const scenarios::OutputSpec& outputs)
{
  std::vector<std::string> names = outputs.phasors;
  const bool shown =
      outputs.images && std::ranges::count(outputs.images->quantities, "Ez");
  if (shown && std::ranges::count(names, "Ez") == 0) {
    names.emplace_back("Ez");
  }
  return names;
}

std::uint64_t available_memory()
{
  std::ifstream file("/proc/meminfo");
  std::string key;
  std::uint64_t kilobytes = 0;
  std::string unit;
  while (file >> key >> kilobytes >> unit) {
    if (key == "MemAvailable:") {
      return kilobytes * 1024;
    }
  }
  return std::numeric_limits<std::uint64_t>::max();  // unknown: let the allocation decide
}

RunPlan plan_run(const Scenario& scenario)
{
  RunPlan plan;
  plan.scenario = scenario;
  plan.tissues = tissues_of(scenario);
  plan.sampling = wavelengths(plan.tissues, highest_frequency(scenario));
  const double cell = cell_of(scenario, plan.sampling);
  for (Sampling& s : plan.sampling) {
    s.cells = s.wavelength / cell;
  }
  check_sampling(scenario, plan.sampling, cell);
  plan.waveform = waveform_of(scenario);
  choose_band(plan);
  plan.fitted = fit(plan);

  const std::size_t poles = plan.fitted.relaxation_times.size();
  plan.grid.raster = raster_of(scenario, cell, poles);
  plan.grid.absorbing_cells = scenario.grid.absorbing_cells;
  plan.absorber.cells = scenario.grid.absorbing_cells;
  plan.memory = memory_of(scenario, plan.grid.raster, poles);
  check_memory(static_cast<double>(plan.memory.total()), plan.grid.raster.nx,
               plan.grid.raster.ny);
  choose_times(plan);
  check_source(plan);
  plan.stepped = plan.fitted;
  if (scenario.grid.correct_dispersion) {
    plan.stepped = solver::correct_for_grid(
        plan.fitted,
        {cell, plan.grid.time_step, plan.band_from, plan.band_to, scenario.frequencies});
  }

  const geometry::Raster& raster = plan.grid.raster;
  plan.map = geometry::voxelise(raster, scenario.body.background, scenario.body.shapes,
                                capsules_of(scenario), scenario.grid.averaging);
  plan.source_i = static_cast<int>(
      std::lround((scenario.implant->position.x - raster.corner.x) / cell - 0.5));
  plan.source_j = static_cast<int>(
      std::lround((scenario.implant->position.y - raster.corner.y) / cell - 0.5));
  place_contours(plan);
  place_probes(plan);
  plan.expected_time = expected_time(plan);
  return plan;
}

}  // namespace torsowave::app
