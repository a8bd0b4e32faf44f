/// \file
/// \brief The one place that strings the stages together: from a plan to stored results.

#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>

#include "app/run_plan.hpp"
#include "postproc/result.hpp"
#include "solver/instruction_set.hpp"

namespace torsowave::app {

/// Where a run stands.
struct Progress {
  long step = 0;
  double time = 0.0;      ///< simulated [s]
  double fraction = 0.0;  ///< of the work, estimated for automatic durations [0, 1]
  double seconds_left = 0.0;
  double energy_db = 0.0;  ///< energy in the grid below its peak [dB], <= 0
  int run = 1;             ///< which run, 2 on finer cells
  int runs = 1;            ///< of how many
};

struct RunOptions {
  std::filesystem::path folder;  ///< where the results go
  bool force = false;            ///< replace an earlier result
  int threads = 1;
  solver::InstructionSet instructions = solver::best_instruction_set();
  int steps_per_pass = 0;                         ///< \see solver::StepperOptions
  std::function<void(const Progress&)> progress;  ///< may be empty; called now and then
  const RunPlan* refined = nullptr;  ///< \see plan_refined(); null: no second run
  std::function<void(const std::string&)> announce;  ///< may be empty; a line of text
  std::function<void(const std::string&)> warn;      ///< may be empty; what went wrong
  std::optional<double> checkpoint_every;  ///< [s]; empty: none, or as before on resume
  bool sar = true;                         ///< also the largest SAR of each frequency
  bool resume = false;  ///< go on from the checkpoint in the folder, if there is one
};

/// Interval of checkpoints where none is named [s].
inline constexpr double default_checkpoint_interval = 600.0;

/// Runs a plan, and the same on finer cells if asked for, and writes result.h5,
/// summary.json, scenario.yaml and the pictures: all or none; then the animation. \throws
/// scenarios::InputError  The folder holds a result and `force` is not set. \throws
/// postproc::WriteError   The folder or the disk cannot be written. \throws Interrupted
/// SIGINT or SIGTERM; nothing is kept. \throws Suspended  The same with checkpoints: the
/// state is kept, and the same plan with `resume` goes on to the result that one
/// undisturbed run would have had, to the last bit.
[[nodiscard]] postproc::Result run_scenario(const RunPlan& plan,
                                            const RunOptions& options);

/// The same without any file; options.folder is unused.
/// \param plan  without snapshots
/// \throws Interrupted
[[nodiscard]] postproc::Result run_in_memory(const RunPlan& plan,
                                             const RunOptions& options);

}  // namespace torsowave::app
