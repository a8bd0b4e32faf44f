/// \file
/// \brief Runs the missing cases of a sweep side by side.

#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "app/sweep_store.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::app {

/// A case to run: one of the cases of the plan with this id.
struct SweepJob {
  std::size_t index = 0;  ///< in the plan
  std::string id;
  std::uint64_t memory = 0;  ///< that a run takes at most [bytes]
  double work = 1.0;         ///< compared with other jobs
};

/// One job for each id among the plan's cases `index` with index % shards == shard.
[[nodiscard]] std::vector<SweepJob> jobs_of(const scenarios::SweepPlan& plan,
                                            std::size_t shard, std::size_t shards);

/// Where a sweep stands.
struct SweepProgress {
  std::size_t done = 0;
  std::size_t failed = 0;
  std::size_t running = 0;
  std::size_t elsewhere = 0;  ///< being run by another sweep on the same folder
  std::size_t total = 0;
  double seconds_left = -1.0;  ///< < 0: unknown
};

struct SweepOptions {
  int jobs = 1;              ///< cases at a time
  int threads = 1;           ///< of each
  std::uint64_t memory = 0;  ///< that all of them may take together [bytes]
  std::string checkpoint;    ///< interval between checkpoints; empty: none
  bool retry = false;        ///< cases that failed for their own fault, too
  std::function<void(const SweepProgress&)> progress;  ///< may be empty; called often
  std::function<void(const std::string&)> announce;    ///< may be empty; a line of text
};

struct SweepOutcome {
  std::size_t done = 0;
  std::size_t failed = 0;
  bool stopped = false;  ///< by a signal, before all was done
};

/// Runs what is missing, and waits for what another sweep runs.
/// \throws postproc::WriteError  The folder or the disk cannot be written.
/// \throws MachineError  No process can be started.
[[nodiscard]] SweepOutcome run_cases(const scenarios::SweepPlan& plan,
                                     const SweepStore& store,
                                     const std::vector<SweepJob>& jobs,
                                     const SweepOptions& options);

}  // namespace torsowave::app
