#include "app/run_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <limits>

#include "app/fill_grid.hpp"
#include "app/machine_error.hpp"
#include "app/place_in_grid.hpp"
#include "app/source_check.hpp"
#include "materials/constants.hpp"
#include "materials/wave_quantities.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/samples_file.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {
namespace {

using scenarios::Scenario;
using scenarios::WaveformKind;

constexpr double fewest_cells_per_wavelength = 10.0;

[[nodiscard]] double highest_frequency(const Scenario& scenario)
{
  return scenario.frequencies.back();
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
  for (const geometry::Shape& shape : shapes_of(scenario)) {
    std::ranges::for_each(geometry::tissues_in(shape), add);
  }
  if (scenario.implant && scenario.implant->capsule) {
    add(scenario.implant->capsule->material);
  }
  return tissues;
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
  // TEz: media of the edges, and E of one frequency at a time.
  const std::uint64_t edges = scenario.mode == scenarios::Mode::tez ? 2 + 2 + 32 : 0;
  // SAR's averages: tissue (8), sums (8 + 16), sides of squares (8), one frequency (8).
  const std::uint64_t averages = scenario.mode == scenarios::Mode::one_d ? 0 : 48;
  need.maps = cells * (2 + 2 + 2 + 1 + 1 + 1 + edges + averages) +
              cells * frequencies * (8 * stored_phasors(scenario).size() + 4);
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

/// The domain before it is cut into cells.
[[nodiscard]] geometry::Rectangle domain_of(const Scenario& scenario, double cell)
{
  const bool one_d = scenario.mode == scenarios::Mode::one_d;
  geometry::Rectangle box;
  if (one_d) {
    const scenarios::LayerStack stack = scenarios::layer_stack(scenario.body);
    box = {{stack.first_face, 0.0}, {stack.last_face, 0.0}};
  } else if (!scenario.grid.size) {
    box = geometry::bounding_box(scenario.body.shapes);
  }
  if (scenario.grid.size) {
    const auto [width, height] = *scenario.grid.size;
    const double middle = 0.5 * (box.min.x + box.max.x);
    box = {{middle - 0.5 * width, -0.5 * height}, {middle + 0.5 * width, 0.5 * height}};
  } else {
    const double around = *scenario.grid.margin + scenario.grid.absorbing_cells * cell;
    box = {{box.min.x - around, box.min.y - around},
           {box.max.x + around, box.max.y + around}};
  }
  if (one_d) {
    box.min.y = -0.5 * cell;
    box.max.y = 0.5 * cell;
  }
  return box;
}

/// Cells over the domain, shifted by less than half a cell: the anchor sits on a cell's
/// centre, since a filament between cells would be smeared over its neighbours; in mode
/// 1D without one the first face lies between two cells.
[[nodiscard]] geometry::Raster raster_of(const Scenario& scenario, double cell,
                                         std::size_t poles,
                                         const std::optional<geometry::Point>& anchor)
{
  const geometry::Rectangle box = domain_of(scenario, cell);
  const double columns = std::round((box.max.x - box.min.x) / cell);
  const double rows = std::round((box.max.y - box.min.y) / cell);
  check_size(scenario, columns, rows, poles);
  const auto low = [&](double at, double from, double within) {
    const double count = std::round((at - from) / cell - within);
    return at - (count + within) * cell;
  };
  geometry::Point corner = box.min;
  if (anchor) {
    corner.x = low(anchor->x, box.min.x, 0.5);
    corner.y = low(anchor->y, box.min.y, 0.5);
  } else if (scenario.mode == scenarios::Mode::one_d) {
    corner.x = low(scenario.body.first_face, box.min.x, 0.0);
  }
  return {static_cast<int>(columns), static_cast<int>(rows), cell, corner};
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

/// Observations between samples of the Fourier sums. Sampled at rate fs, a frequency f
/// also takes in what the field holds at fs - f: nothing, if that is above the highest
/// frequency of the waveform.
[[nodiscard]] int samples_between_sums(const RunPlan& plan)
{
  const double rate = plan.waveform.highest_frequency + plan.scenario.frequencies.back();
  return std::max(1,
                  static_cast<int>(1.0 / (rate * plan.interval * plan.grid.time_step)));
}

/// dt and the interval of observations: at least four samples in the period of the
/// highest frequency that the waveform holds, so that no alias falls on a frequency of
/// interest. A cw period is made a whole number of intervals.
void choose_times(RunPlan& plan)
{
  constexpr int longest_interval = 256;
  const Scenario& scenario = plan.scenario;
  double dt = solver::stable_time_step(plan.grid.raster.cell, scenario.grid.courant,
                                       plan.one_d() ? 1 : 2);
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
  if (scenario.waveform.kind == WaveformKind::pulse ||
      scenario.waveform.kind == WaveformKind::ricker) {
    plan.sums_every = samples_between_sums(plan);
  }
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
  const double crossing = 2.0 * plan.extent * slowest / materials::speed_of_light;
  const double begin =
      std::isfinite(plan.waveform.end) ? plan.waveform.end : plan.scenario.waveform.ramp;
  return begin + 2.0 * crossing + plan.fade_time;
}

}  // namespace

std::vector<std::string> stored_phasors(const Scenario& scenario)
{
  std::vector<std::string> names = scenario.outputs.phasors;
  const auto add = [&](const std::string& name) {
    if (std::ranges::count(names, name) == 0) {
      names.push_back(name);
    }
  };
  if (scenario.outputs.images) {
    for (const std::string& quantity : scenario.outputs.images->quantities) {
      if (is_field_name(quantity)) {
        add(quantity);
      } else if (quantity == "power_flow") {
        const bool tez = scenario.mode == scenarios::Mode::tez;
        std::ranges::for_each(
            tez ? std::array{"Hz", "Ex", "Ey"} : std::array{"Ez", "Hx", "Hy"}, add);
      }
    }
  }
  return names;
}

bool is_field_name(const std::string& quantity)
{
  return quantity.size() == 2 && (quantity[0] == 'E' || quantity[0] == 'H') &&
         quantity[1] >= 'x' && quantity[1] <= 'z';
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

std::uint64_t memory_bound(const Scenario& scenario)
{
  constexpr int most_poles = 4;
  const auto poles =
      static_cast<std::size_t>(scenario.materials.fit_poles.value_or(most_poles));
  const double cell =
      cell_of(scenario, wavelengths(tissues_of(scenario), highest_frequency(scenario)));
  return memory_of(scenario, raster_of(scenario, cell, poles, std::nullopt), poles)
      .total();
}

RunPlan plan_run(const Scenario& scenario, std::optional<geometry::Point> anchor)
{
  if (!anchor && scenario.implant) {
    anchor = scenario.implant->position;
  }
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
  plan.grid.raster = raster_of(scenario, cell, poles, anchor);
  plan.grid.absorbing_cells = scenario.grid.absorbing_cells;
  plan.absorber.cells = scenario.grid.absorbing_cells;
  plan.memory = memory_of(scenario, plan.grid.raster, poles);
  check_memory(static_cast<double>(plan.memory.total()), plan.grid.raster.nx,
               plan.grid.raster.ny);
  choose_times(plan);
  check_source(plan);
  fill_grid(plan);
  place_all(plan);
  plan.expected_time = expected_time(plan);
  return plan;
}

}  // namespace torsowave::app
