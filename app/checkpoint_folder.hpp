/// \file
/// \brief All that a run with checkpoints keeps in its folder until the result is there.

#pragma once

#include <array>
#include <filesystem>
#include <optional>

#include "app/checkpoints.hpp"
#include "app/folder_lock.hpp"
#include "app/frame_spool.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"

namespace torsowave::app {

/// The checkpoints of a run, of its second run on finer cells, and the snapshots taken:
/// checkpoint.state, checkpoint.refined.state and checkpoint.frames. checkpoint.lock
/// keeps other runs with checkpoints out.
class CheckpointFolder {
public:
  /// \throws scenarios::InputError  options.folder holds a checkpoint, and the options
  /// say neither to go on from it nor to start again.
  static void refuse_to_forget(const RunOptions& options);

  /// Whether options.folder holds something to go on from.
  [[nodiscard]] static bool holds_any(const std::filesystem::path& folder);

  /// Opens what there is to go on from, or removes it if it is not to be used.
  /// \throws scenarios::InputError  Another run is there, or the checkpoint is damaged or
  /// belongs to something else. \throws postproc::WriteError
  CheckpointFolder(const RunPlan& plan, const RunOptions& options);

  /// Of the first (0) or the second (1) run; null: no checkpoints are asked for.
  [[nodiscard]] Checkpoints* of_run(std::size_t run);
  [[nodiscard]] FrameSpool* frames();

  /// The result is there: removes all.
  void remove() const;

private:
  void remove_remains(long process) const;
  void open_all(const RunPlan& plan, const RunOptions& options);

  std::filesystem::path folder_;
  std::optional<FolderLock> lock_;
  std::array<std::optional<Checkpoints>, 2> runs_;
  std::optional<FrameSpool> frames_;
};

}  // namespace torsowave::app
