#include "app/run_scenario.hpp"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>

#include "app/pictures.hpp"
#include "app/staged_folder.hpp"
#include "app/stop_signal.hpp"
#include "app/time_loop.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/power_balance.hpp"
#include "postproc/sha256.hpp"
#include "postproc/summary_json.hpp"
#include "scenarios/input_error.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {
namespace {

using postproc::Result;

[[nodiscard]] std::string utc_now()
{
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::time(nullptr)));
}

[[nodiscard]] std::uint64_t peak_memory()
{
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<std::uint64_t>(usage.ru_maxrss) * 1024;
}

void describe_grid(const RunPlan& plan, Result& result)
{
  const geometry::Raster& raster = plan.grid.raster;
  result.grid.nx = raster.nx;
  result.grid.ny = raster.ny;
  result.grid.cell = raster.cell;
  result.grid.time_step = plan.grid.time_step;
  for (int i = 0; i < raster.nx; ++i) {
    result.grid.x.push_back(raster.x(i));
  }
  for (int j = 0; j < raster.ny; ++j) {
    result.grid.y.push_back(raster.y(j));
  }
}

void describe_materials(const RunPlan& plan, Result& result)
{
  const std::vector<double> areas = geometry::areas_by_tissue(plan.map);
  for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
    const materials::FittedMedium& medium = plan.fitted.media[t];
    const auto used = std::count_if(medium.strengths.begin(), medium.strengths.end(),
                                    [](double s) { return s > 0.0; });
    result.tissues.push_back(plan.tissues[t].name);
    result.tissue_titles.push_back(plan.tissues[t].display_name);
    result.materials.push_back({plan.tissues[t].name, medium.max_relative_error,
                                static_cast<int>(used), areas[t]});
  }
  result.labels = plan.map.labels;
}

[[nodiscard]] Result describe(const RunPlan& plan)
{
  Result result;
  result.title = plan.scenario.title;
  result.mode = "TMz";
  result.scenario_yaml = plan.scenario.text;
  result.scenario_sha256 = postproc::sha256(plan.scenario.text);
  result.created = utc_now();
  result.implant_x = plan.grid.raster.x(plan.source_i);
  result.implant_y = plan.grid.raster.y(plan.source_j);
  describe_grid(plan, result);
  describe_materials(plan, result);
  return result;
}

[[nodiscard]] Recorders recorders_for(const RunPlan& plan, postproc::ResultFile& file)
{
  const std::vector<double>& frequencies = plan.scenario.frequencies;
  std::optional<solver::ContourRecorder> surface;
  if (plan.surface) {
    surface.emplace(plan.grid, *plan.surface, frequencies);
  }
  return {{plan.grid, frequencies}, {plan.grid, plan.radiation, frequencies},
          std::move(surface),       {plan.grid, plan.waveform.current, frequencies},
          ProbeRecorder(plan),      SnapshotRecorder(plan, file)};
}

[[nodiscard]] std::vector<std::complex<double>> source_gains(const RunPlan& plan)
{
  const geometry::Mixture& mixture =
      plan.map.palette[plan.map.cells[plan.grid.raster.at(plan.source_i, plan.source_j)]];
  std::vector<std::complex<double>> gains;
  for (const double frequency : plan.scenario.frequencies) {
    if (!plan.scenario.grid.correct_dispersion) {
      gains.emplace_back(1.0);
      continue;
    }
    std::complex<double> eps;
    for (const geometry::Share& share : mixture) {
      eps += static_cast<double>(share.quanta) / geometry::fraction_quantum *
             relative_permittivity(plan.fitted.media[share.tissue],
                                   plan.fitted.relaxation_times, frequency);
    }
    gains.push_back(solver::source_gain(eps, frequency, plan.grid.raster.cell));
  }
  return gains;
}

[[nodiscard]] std::vector<double> densities(const RunPlan& plan)
{
  std::vector<double> result;
  for (const materials::Tissue& tissue : plan.tissues) {
    result.push_back(tissue.density.value_or(0.0));
  }
  return result;
}

/// A relative error of the fields in dB of power.
[[nodiscard]] double field_error_db(double relative)
{
  return 20.0 * std::log10(1.0 + relative);
}

void evaluate(const RunPlan& plan, const Recorders& recorders, const LoopOutcome& outcome,
              Result& result)
{
  const postproc::PowerInputs inputs{plan.map,
                                     plan.stepped,
                                     plan.grid,
                                     recorders.phasors,
                                     recorders.radiation,
                                     recorders.surface ? &*recorders.surface : nullptr,
                                     recorders.source,
                                     plan.source_i,
                                     plan.source_j,
                                     source_gains(plan),
                                     plan.body.centroid,
                                     plan.scenario.outputs.sectors};
  for (const std::string& name : stored_phasors(plan.scenario.outputs)) {
    result.phasors.push_back({name,
                              name == "Ez" ? "V/m" : "A/m",
                              name == "Ez" ? "electric field along z per ampere"
                                           : "magnetic field per ampere, at cell centres",
                              {}});
  }
  const bool wants_sar =
      plan.scenario.outputs.images &&
      std::count(plan.scenario.outputs.images->quantities.begin(),
                 plan.scenario.outputs.images->quantities.end(), "sar") > 0;
  for (std::size_t f = 0; f < plan.scenario.frequencies.size(); ++f) {
    postproc::FrequencyResult at = postproc::power_balance(inputs, f);
    at.uncertainty_db[outcome.stop.cause] = field_error_db(outcome.stop.field_error);
    for (postproc::PhasorField& field : result.phasors) {
      if (field.name == "Ez") {
        postproc::append_phasor(inputs, f, field.values);
      } else {
        postproc::append_magnetic_phasor(inputs, f, field.name == "Hx", field.values);
      }
    }
    if (wants_sar) {
      const std::vector<float> rate =
          postproc::absorption_rate(inputs, f, at.source_power, densities(plan));
      result.sar.insert(result.sar.end(), rate.begin(), rate.end());
    }
    result.frequencies.push_back(std::move(at));
  }
  if (plan.surface) {
    result.sector_angle_deg = postproc::sector_centres_deg(inputs.sectors);
  }
}

template <class Real>
void step_through(const RunPlan& plan, const RunOptions& options, Recorders& recorders,
                  Result& result)
{
  const auto begin = std::chrono::steady_clock::now();
  solver::TmzStepper<Real> stepper(
      plan.grid, solver::build_medium(plan.map, plan.stepped, plan.grid.absorbing_cells),
      plan.absorber, {options.threads, options.instructions});
  stepper.add_source({plan.source_i, plan.source_j, plan.waveform.current});
  LoopOutcome outcome = run_loop(plan, stepper, recorders, options.progress);
  evaluate(plan, recorders, outcome, result);
  const double wall =
      std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  result.grid.steps = stepper.step();
  result.energy = std::move(outcome.energy);
  result.probes = recorders.probes.take();
  result.run = {wall,
                options.threads,
                static_cast<double>(stepper.step()) *
                    static_cast<double>(plan.grid.raster.size()) / wall,
                peak_memory(),
                outcome.stop.because,
                solver::name_of(options.instructions)};
}

void refuse_to_replace(const RunOptions& options)
{
  std::error_code unreachable;  // is told when the folder is made
  if (!options.force &&
      std::filesystem::exists(options.folder / "summary.json", unreachable)) {
    scenarios::refuse(
        {options.folder.string(), 0, 0},
        "holds a result already; choose another folder with -o, or --force to "
        "replace it");
  }
}

/// Pictures that the new result may not replace would show another scenario.
void remove_earlier_pictures(const std::filesystem::path& folder)
{
  if (!std::filesystem::exists(folder / "summary.json")) {
    return;
  }
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (is_picture_name(entry.path().filename().string())) {
      std::filesystem::remove(entry.path());
    }
  }
}

[[nodiscard]] Result run_and_store(const RunPlan& plan, const RunOptions& options)
{
  StagedFolder folder(options.folder);
  Result result = describe(plan);
  std::vector<postproc::Snapshot> shown;
  {
    postproc::ResultFile file(folder.path("result.h5"), result.grid,
                              SnapshotRecorder::plan_for(plan));
    Recorders recorders = recorders_for(plan, file);
    if (plan.scenario.grid.precision == scenarios::Precision::single_precision) {
      step_through<float>(plan, options, recorders, result);
    } else {
      step_through<double>(plan, options, recorders, result);
    }
    shown = recorders.snapshots.shown();
    file.commit(result);
  }
  draw_pictures(plan, result, shown,
                [&](const std::string& name) { return folder.path(name); });
  postproc::write_atomically(folder.path("scenario.yaml"), plan.scenario.text);
  postproc::write_summary(folder.path("summary.json"), result);
  remove_earlier_pictures(options.folder);
  folder.commit();
  return result;
}

/// What a failed write leaves to do.
[[nodiscard]] std::string disk_remedy(const std::filesystem::path& folder)
{
  std::error_code error;
  const std::filesystem::space_info space = std::filesystem::space(folder, error);
  return fmt::format("{}; free the disk or choose another folder with -o",
                     error ? ""
                           : fmt::format(" ({:.2f} GiB are free there)",
                                         static_cast<double>(space.available) / 0x1p30));
}

}  // namespace

Result run_scenario(const RunPlan& plan, const RunOptions& options)
{
  refuse_to_replace(options);
  const StopSignal stop;
  try {
    return run_and_store(plan, options);
  } catch (const postproc::WriteError& error) {
    throw postproc::WriteError(error.what() + disk_remedy(options.folder));
  }
}

}  // namespace torsowave::app
