#include "app/run_scenario.hpp"

#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <future>
#include <iterator>
#include <limits>
#include <numbers>
#include <optional>

#include "app/checkpoint_folder.hpp"
#include "app/earlier_outputs.hpp"
#include "app/error_estimate.hpp"
#include "app/film.hpp"
#include "app/implant_gain.hpp"
#include "app/label_report.hpp"
#include "app/machine_error.hpp"
#include "app/movie_file.hpp"
#include "app/pictures.hpp"
#include "app/recorded_cells.hpp"
#include "app/refinement.hpp"
#include "app/run_links.hpp"
#include "app/sar_estimate.hpp"
#include "app/source_drive.hpp"
#include "app/staged_folder.hpp"
#include "app/stop_signal.hpp"
#include "app/time_loop.hpp"
#include "app/utc_time.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/far_field.hpp"
#include "postproc/power_balance.hpp"
#include "postproc/sha256.hpp"
#include "postproc/stored_result.hpp"
#include "postproc/summary_json.hpp"
#include "postproc/uncertainty.hpp"
#include "postproc/xdmf_text.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {
namespace {

using postproc::Result;

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
  result.grid.absorbing_cells = plan.grid.absorbing_cells;
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

[[nodiscard]] const char* mode_name(scenarios::Mode mode)
{
  return mode == scenarios::Mode::one_d ? "1D"
         : mode == scenarios::Mode::tez ? "TEz"
                                        : "TMz";
}

[[nodiscard]] postproc::SourceInfo source_info(const scenarios::Scenario& scenario)
{
  const std::string per = scenario.mode == scenarios::Mode::one_d ? "W/m2" : "W/m";
  if (scenario.incident) {
    return {"plane wave", "V/m", per};
  }
  switch (scenario.implant->source) {
    case scenarios::SourceKind::magnetic_line:
      return {"magnetic line", "V", per};
    case scenarios::SourceKind::dipole:
      return {"in-plane dipole", "A m/m", per};
    case scenarios::SourceKind::current_sheet:
      return {"current sheet", "A/m", per};
    default:
      return {"line current", "A", per};
  }
}

[[nodiscard]] std::vector<postproc::LayerInfo> layers_of(
    const scenarios::LayerStack& stack)
{
  constexpr double far = std::numeric_limits<double>::infinity();
  std::vector<postproc::LayerInfo> layers{{stack.first, -far, stack.first_face}};
  for (const scenarios::Slab& slab : stack.slabs) {
    layers.push_back({slab.tissue, slab.from, slab.to});
  }
  layers.push_back({stack.last, stack.last_face, far});
  return layers;
}

[[nodiscard]] Result describe(const RunPlan& plan)
{
  Result result;
  result.title = plan.scenario.title;
  result.mode = mode_name(plan.scenario.mode);
  result.source = source_info(plan.scenario);
  result.scenario_yaml = plan.scenario.text;
  result.scenario_sha256 = postproc::sha256(plan.scenario.text);
  result.created = utc_now();
  if (plan.scenario.implant) {
    if (plan.scenario.locations.contains("link.transmit_power")) {
      result.transmit_power = plan.scenario.link.input.implant.transmit_power;
    }
    result.implant = geometry::Point{plan.grid.raster.x(plan.source_i),
                                     plan.grid.raster.y(plan.source_j)};
  }
  if (plan.stack) {
    result.layers = layers_of(*plan.stack);
    if (plan.total_field) {
      const bool from_left = plan.scenario.incident->angle == 0.0;
      result.scattered_rim = plan.grid.raster.x_of(
          from_left ? plan.total_field->first_i : plan.total_field->last_i + 1);
    }
  }
  describe_grid(plan, result);
  describe_materials(plan, result);
  result.notes = label_map_notes(plan);
  return result;
}

[[nodiscard]] Recorders recorders_for(const RunPlan& plan, postproc::ResultFile* file,
                                      FrameSpool* frames)
{
  const std::vector<double>& frequencies = plan.scenario.frequencies;
  Recorders recorders{{plan.grid, frequencies, recorded_cells(plan)},
                      {plan.grid, plan.radiation, frequencies},
                      std::nullopt,
                      std::nullopt,
                      std::nullopt,
                      std::nullopt,
                      ProbeRecorder(plan),
                      SnapshotRecorder(plan, file, frames)};
  if (plan.surface) {
    recorders.surface.emplace(plan.grid, *plan.surface, frequencies);
  }
  if (plan.inflow) {
    recorders.inflow.emplace(plan.grid, *plan.inflow, frequencies);
  }
  return recorders;
}

/// A relative error of the fields in dB of power.
[[nodiscard]] double field_error_db(double relative)
{
  return 20.0 * std::log10(1.0 + relative);
}

void describe_phasors(const RunPlan& plan, Result& result)
{
  for (const std::string& name : stored_phasors(plan.scenario)) {
    const bool electric = name.starts_with('E');
    result.phasors.push_back(
        {name,
         electric ? "V/m" : "A/m",
         fmt::format("{} field along {} per 1 {} of {}, at cell centres",
                     electric ? "electric" : "magnetic", name[1], result.source.unit,
                     result.source.kind),
         {}});
  }
}

/// Directions of the far field [rad], noted in the result; none where there is no far
/// field.
[[nodiscard]] std::vector<double> far_angles_of(const RunPlan& plan,
                                                const postproc::PowerInputs& inputs,
                                                Result& result)
{
  std::vector<double> radians;
  if (inputs.outer_eps) {
    result.far_angle_deg = plan.far_angle_deg.empty()
                               ? postproc::sector_centres_deg(postproc::far_directions)
                               : plan.far_angle_deg;
    for (const double degrees : result.far_angle_deg) {
      radians.push_back(degrees * std::numbers::pi / 180.0);
    }
  }
  return radians;
}

/// SAR of one frequency: its largest values, and all of it if a picture shows it.
void add_sar(const RunPlan& plan, const postproc::FieldsAt& fields,
             const std::optional<SarEstimate>& estimate, postproc::FrequencyResult& at,
             Result& result)
{
  if (!estimate && !wants_sar_map(plan.scenario)) {
    return;
  }
  const std::vector<float> rate =
      fields.absorption_rate(at.source_power, densities(plan));
  if (estimate) {
    at.sar = estimate->at(at, rate);
  }
  if (wants_sar_map(plan.scenario)) {
    result.sar.insert(result.sar.end(), rate.begin(), rate.end());
  }
}

void evaluate(const RunPlan& plan, const Recorders& recorders, const LoopOutcome& outcome,
              const SourceDrive& drive, bool with_sar, Result& result)
{
  const postproc::PowerInputs inputs = power_inputs(plan, recorders, drive);
  describe_phasors(plan, result);
  const std::vector<double> far_angles = far_angles_of(plan, inputs, result);
  std::optional<SarEstimate> sar;
  if (with_sar && !plan.one_d()) {
    sar.emplace(plan, inputs);
  }
  for (std::size_t f = 0; f < plan.scenario.frequencies.size(); ++f) {
    const postproc::FieldsAt fields(inputs, f);
    postproc::FrequencyResult at = fields.power_balance();
    at.uncertainty_db[outcome.stop.cause] = field_error_db(outcome.stop.field_error);
    at.far_field = fields.far_field(at.source_power, far_angles);
    if (plan.stack) {
      at.slab = layer_response(plan, drive, fields, at);
    }
    for (postproc::PhasorField& field : result.phasors) {
      fields.append(field.name, field.values);
    }
    add_sar(plan, fields, sar, at, result);
    result.frequencies.push_back(std::move(at));
  }
  if (sar) {
    std::ranges::copy(sar->notes(result.frequencies), std::back_inserter(result.notes));
  }
  if (plan.surface) {
    result.sector_angle_deg = postproc::sector_centres_deg(inputs.sectors.count);
  }
}

template <class Real, class Stepper>
void step_through(const RunPlan& plan, const RunOptions& options, Stepper stepper,
                  Recorders& recorders, Checkpoints* checkpoints, Result& result)
{
  const auto begin = std::chrono::steady_clock::now();
  const SourceDrive drive = add_source(plan, stepper, recorders);
  LoopOutcome outcome =
      run_loop<Real>(plan, stepper, recorders, options.progress, checkpoints);
  recorders.snapshots.finish();
  evaluate(plan, recorders, outcome, drive, options.sar, result);
  const double wall =
      outcome.seconds_before +
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

template <class Real>
void step_mode(const RunPlan& plan, const RunOptions& options, Recorders& recorders,
               Checkpoints* checkpoints, Result& result)
{
  const solver::StepperOptions how{options.threads, options.instructions,
                                   options.steps_per_pass};
  if (plan.tez) {
    step_through<Real>(plan, options,
                       solver::TezStepper<Real>(plan.grid, *plan.tez, plan.absorber, how),
                       recorders, checkpoints, result);
  } else {
    step_through<Real>(
        plan, options,
        solver::TmzStepper<Real>(
            plan.grid,
            solver::build_medium(plan.map, plan.stepped, plan.grid.absorbing_cells),
            plan.absorber, how),
        recorders, checkpoints, result);
  }
}

/// \param checkpoints  null: none
void step_plan(const RunPlan& plan, const RunOptions& options, Recorders& recorders,
               Checkpoints* checkpoints, Result& result)
{
  if (plan.scenario.grid.precision == scenarios::Precision::single_precision) {
    step_mode<float>(plan, options, recorders, checkpoints, result);
  } else {
    step_mode<double>(plan, options, recorders, checkpoints, result);
  }
}

/// The options of the first or the second run of two.
[[nodiscard]] RunOptions options_of_run(const RunOptions& options, int run)
{
  RunOptions changed = options;
  if (options.progress && options.refined != nullptr) {
    changed.progress = [&options, run](Progress progress) {
      progress.run = run;
      progress.runs = 2;
      options.progress(progress);
    };
  }
  return changed;
}

/// The second run, and what it says of the first.
void refine(const RunPlan& plan, const RunOptions& options, Checkpoints* checkpoints,
            Result& result)
{
  const RunPlan& refined = *options.refined;
  if (options.announce) {
    options.announce(refinement_text(plan, refined, result.run.wall_seconds));
  }
  Result fine;
  Recorders recorders = recorders_for(refined, nullptr, nullptr);
  RunOptions how = options_of_run(options, 2);
  how.sar = false;
  step_plan(refined, how, recorders, checkpoints, fine);
  result.refinement = {refined.grid.raster.cell,
                       refined.grid.raster.cell / plan.grid.raster.cell,
                       convergence_order(plan), fine.grid.steps, fine.run.wall_seconds};
  postproc::add_refinement(result.frequencies, fine.frequencies, *result.refinement,
                           {losses_end_inside(plan), plan.scenario.incident.has_value()});
}

/// The pictures that the scenario asks for.
[[nodiscard]] PictureOrder pictures_of(const RunPlan& plan, const Result& result)
{
  PictureOrder order;
  if (const auto& spec = plan.scenario.outputs.images) {
    order.quantities = spec->quantities;
    order.scale = spec->decibel ? postproc::Scale::decibel : postproc::Scale::linear;
  }
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    order.frequencies.push_back(f);
  }
  return order;
}

/// The animation that the scenario asks for, from what was stored.
void animate(const scenarios::AnimationSpec& spec, const Result& result,
             const RunOptions& options)
{
  const std::string name = "animation." + spec.format;
  const postproc::StoredSnapshots snapshots(options.folder / "result.h5");
  FilmOrder order;
  order.frames_per_second = spec.frames_per_second;
  if (options.announce) {
    options.announce(fmt::format("drawing {}\n", name));
  }
  try {
    static_cast<void>(make_film(order, {{result, snapshots}}, options.folder / name, {}));
  } catch (const Interrupted& stopped) {
    throw Interrupted(
        fmt::format("{}; the result is, and torsowave render {} --animation "
                    "{} draws it",
                    stopped.what(), options.folder.string(), name));
  }
}

/// For viewers, where there is something to see beside the tissues.
void describe_for_viewers(const StagedFolder& folder, const Result& result)
{
  const postproc::StoredSnapshots snapshots(folder.path("result.h5"));
  if (snapshots.count() > 0 || !result.sar.empty()) {
    postproc::write_atomically(
        folder.path(viewer_file),
        postproc::xdmf_text(result, snapshots.plan(), snapshots.times(), "result.h5"));
  }
}

[[nodiscard]] Result run_and_store(const RunPlan& plan, const RunOptions& options)
{
  const MadeFolder made(options.folder);
  CheckpointFolder checkpoints(plan, options);
  StagedFolder folder(options.folder);
  Result result = describe(plan);
  Moments moments;
  {
    postproc::ResultFile file(folder.path("result.h5"), result.grid,
                              SnapshotRecorder::plan_for(plan));
    {
      Recorders recorders = recorders_for(plan, &file, checkpoints.frames());
      step_plan(plan, options_of_run(options, 1), recorders, checkpoints.of_run(0),
                result);
      moments = recorders.snapshots.moments();
    }
    add_error_estimates(plan, result);
    if (options.refined != nullptr) {
      refine(plan, options, checkpoints.of_run(1), result);
    }
    add_antenna_gains(plan, result);
    add_links(plan, result);
    // Side by side: compressing either takes its time.
    std::future<void> stored =
        std::async(std::launch::async, [&] { file.commit(result); });
    draw_pictures(pictures_of(plan, result), result, moments,
                  [&](const std::string& name) { return folder.path(name); });
    stored.get();
  }
  describe_for_viewers(folder, result);
  postproc::write_atomically(folder.path("scenario.yaml"), plan.scenario.text);
  if (keeps_label_map(plan)) {
    const std::filesystem::path& file = plan.scenario.body.label_map->file;
    keep_label_map(plan, folder.path(scenarios::map_copy_name(file)));
  }
  postproc::write_summary(folder.path("summary.json"), result);
  remove_earlier_outputs(options.folder);
  folder.commit();
  checkpoints.remove();
  if (plan.scenario.outputs.animation) {
    animate(*plan.scenario.outputs.animation, result, options);
  }
  return result;
}

/// What a failed write leaves to do.
[[nodiscard]] std::string disk_remedy(const std::filesystem::path& folder)
{
  std::error_code error;
  const std::filesystem::space_info space = std::filesystem::space(folder, error);
  return fmt::format("{}; free the disk or choose another folder with -o{}",
                     error ? ""
                           : fmt::format(" ({:.2f} GiB are free there)",
                                         static_cast<double>(space.available) / 0x1p30),
                     CheckpointFolder::holds_any(folder)
                         ? "; the last checkpoint is kept, and --resume goes on from it"
                         : "");
}

}  // namespace

Result run_in_memory(const RunPlan& plan, const RunOptions& options)
{
  const StopSignal stop;
  Result result = describe(plan);
  Recorders recorders = recorders_for(plan, nullptr, nullptr);
  step_plan(plan, options, recorders, nullptr, result);
  return result;
}

Result run_scenario(const RunPlan& plan, const RunOptions& options)
{
  if (!options.force) {
    refuse_to_replace(options.folder, "summary.json", "a result");
  }
  if (plan.scenario.outputs.animation) {
    require_ffmpeg();
  }
  CheckpointFolder::refuse_to_forget(options);
  const StopSignal stop;
  try {
    return run_and_store(plan, options);
  } catch (const postproc::WriteError& error) {
    throw postproc::WriteError(error.what() + disk_remedy(options.folder));
  }
}

}  // namespace torsowave::app
