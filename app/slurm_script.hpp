/// \file
/// \brief A sweep as a job array of Slurm: which part is this task's, and the scripts.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace torsowave::app {

/// Every `count`-th case, from `index` on, counted from 0.
struct Shard {
  std::size_t index = 0;
  std::size_t count = 1;
};

/// Reads "I/N", I from 1 to N.
/// \throws CLI::ValidationError  It is not that.
[[nodiscard]] Shard parse_shard(const std::string& text);

/// The shard of this task of a job array, from SLURM_ARRAY_TASK_ID, _COUNT, _MIN and
/// _STEP; the whole outside of one.
/// \throws CLI::ValidationError  The task numbers are not evenly spaced.
[[nodiscard]] Shard shard_of_environment();

/// What the batch scripts ask for.
struct SlurmRequest {
  std::filesystem::path program;     ///< absolute
  std::filesystem::path sweep;       ///< absolute
  std::filesystem::path folder;      ///< of the results, absolute
  std::string name;                  ///< of the jobs
  std::size_t tasks = 1;             ///< of the array
  int cores = 1;                     ///< of a task
  std::uint64_t memory = 0;          ///< of a task [bytes]
  double seconds = 0.0;              ///< time limit of a task [s]
  std::vector<std::string> options;  ///< passed on to the sweep
};

/// Writes array.sbatch, collect.sbatch and submit.sh to the folder.
/// \return  Their paths. \throws postproc::WriteError
std::vector<std::filesystem::path> write_slurm_scripts(const SlurmRequest& request);

}  // namespace torsowave::app
