#include "app/checkpoint_folder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <system_error>

#include "app/program_digest.hpp"
#include "app/staged_folder.hpp"
#include "postproc/sha256.hpp"
#include "postproc/version.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

constexpr std::array states{"checkpoint.state", "checkpoint.refined.state"};
constexpr const char* frames_file = "checkpoint.frames";
constexpr const char* lock_file = "checkpoint.lock";

/// The scenario as written, and the files that it names.
[[nodiscard]] std::string digest_of(const scenarios::Scenario& scenario)
{
  std::string digest = postproc::sha256(scenario.text);
  const auto add = [&](const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    const std::string content{std::istreambuf_iterator<char>(file), {}};
    digest = postproc::sha256(digest + content);
  };
  if (scenario.waveform.kind == scenarios::WaveformKind::samples) {
    add(scenario.waveform.file);
  }
  if (scenario.body.label_map) {
    add(scenario.body.label_map->file);
  }
  return digest;
}

[[nodiscard]] std::string layout_of(const RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  return postproc::sha256(fmt::format(
      "{} {} {:a} {:a} {} {} {} {} {:a} {:a} {} {}", raster.nx, raster.ny, raster.cell,
      plan.grid.time_step, plan.grid.absorbing_cells, plan.interval, plan.sums_every,
      plan.period_steps, plan.fade_time, plan.expected_time,
      plan.stepped.relaxation_times.size(), plan.scenario.frequencies.size()));
}

[[nodiscard]] CheckpointIdentity identity_of(const RunPlan& plan,
                                             const RunOptions& options, double refinement)
{
  const std::string digest = program_digest();
  return {
      fmt::format("torsowave {} (revision {}{})", postproc::tool_version(),
                  postproc::tool_revision(), digest.empty() ? "" : ", program " + digest),
      solver::name_of(options.instructions), digest_of(plan.scenario), layout_of(plan),
      refinement};
}

/// Values of a snapshot; 0: none are asked for.
[[nodiscard]] std::size_t snapshot_size(const RunPlan& plan)
{
  const auto& spec = plan.scenario.outputs.snapshots;
  if (!spec) {
    return 0;
  }
  const auto kept = [&](int cells) {
    return static_cast<std::size_t>((cells + spec->stride - 1) / spec->stride);
  };
  return kept(plan.grid.raster.nx) * kept(plan.grid.raster.ny);
}

}  // namespace

bool CheckpointFolder::holds_any(const fs::path& folder)
{
  std::error_code unreachable;
  return std::ranges::any_of(
      states, [&](const char* name) { return fs::exists(folder / name, unreachable); });
}

void CheckpointFolder::refuse_to_forget(const RunOptions& options)
{
  if (!options.resume && !options.force && holds_any(options.folder)) {
    scenarios::refuse({options.folder.string(), 0, 0},
                      "holds the checkpoint of an unfinished run; --resume goes on from "
                      "it, --force starts again from the beginning");
  }
}

CheckpointFolder::CheckpointFolder(const RunPlan& plan, const RunOptions& options)
    : folder_(options.folder)
{
  const bool wanted = options.checkpoint_every || options.resume;
  if (!wanted && !holds_any(folder_)) {
    return;
  }
  lock_.emplace(folder_ / lock_file);
  remove_remains(lock_->killed_holder());
  lock_->sign();
  if (!options.resume) {
    remove();
  }
  if (wanted) {
    open_all(plan, options);
  }
}

void CheckpointFolder::open_all(const RunPlan& plan, const RunOptions& options)
{
  std::optional<double> every = options.checkpoint_every;
  const std::array plans{&plan, options.refined};
  const double refinement =
      options.refined ? options.refined->grid.raster.cell / plan.grid.raster.cell : 0.0;
  for (std::size_t run = 0; run < plans.size() && plans[run] != nullptr; ++run) {
    runs_[run].emplace(folder_ / states[run],
                       identity_of(*plans[run], options, refinement),
                       run == 0 && options.refined != nullptr,
                       CheckpointTalk{options.announce, options.warn});
    const double kept = runs_[run]->open();
    if (!every && kept > 0.0) {
      every = kept;
    }
  }
  if (!holds_any(folder_) && options.resume && options.announce) {
    options.announce(fmt::format("{} holds no checkpoint: starting from the beginning\n",
                                 folder_.string()));
  }
  for (std::optional<Checkpoints>& run : runs_) {
    if (run) {
      run->set_interval(every.value_or(default_checkpoint_interval));
    }
  }
  if (const std::size_t values = snapshot_size(plan); values > 0) {
    frames_.emplace(folder_ / frames_file, values);
  }
}

void CheckpointFolder::remove_remains(long process) const
{
  if (process == 0) {
    return;
  }
  std::error_code ignored;
  fs::remove_all(StagedFolder::stage_of(folder_, process), ignored);
  for (const char* name : states) {
    fs::remove(postproc::PartFile::part_of(folder_ / name, process), ignored);
  }
}

Checkpoints* CheckpointFolder::of_run(std::size_t run)
{
  return runs_.at(run) ? &*runs_.at(run) : nullptr;
}

FrameSpool* CheckpointFolder::frames()
{
  return frames_ ? &*frames_ : nullptr;
}

void CheckpointFolder::remove() const
{
  std::error_code ignored;
  if (!lock_) {
    return;
  }
  for (const char* name : states) {
    fs::remove(folder_ / name, ignored);
  }
  fs::remove(folder_ / frames_file, ignored);
}

}  // namespace torsowave::app
