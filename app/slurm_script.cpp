#include "app/slurm_script.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <string_view>
#include <system_error>

#include "postproc/atomic_file.hpp"
#include "scenarios/message_text.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] std::optional<std::size_t> whole_number(std::string_view text)
{
  std::size_t number = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), number);
  const bool whole = error == std::errc{} && end == text.data() + text.size();
  return whole ? std::optional{number} : std::nullopt;
}

[[nodiscard]] std::optional<std::size_t> from_environment(const char* name)
{
  const char* text = std::getenv(name);
  return text == nullptr ? std::nullopt : whole_number(text);
}

/// For a shell, whatever is in it.
[[nodiscard]] std::string quoted(const std::string& text)
{
  std::string result = "'";
  for (const char c : text) {
    result += c == '\'' ? "'\\''" : std::string(1, c);
  }
  return result + "'";
}

/// hours:minutes:seconds, up to the next minute.
[[nodiscard]] std::string limit_text(double seconds)
{
  const auto minutes = static_cast<long>(std::ceil(seconds / 60.0));
  return fmt::format("{}:{:02}:00", minutes / 60, minutes % 60);
}

[[nodiscard]] std::string command_of(const SlurmRequest& request)
{
  std::string command =
      fmt::format("{} sweep {} -o {}", quoted(request.program.string()),
                  quoted(request.sweep.string()), quoted(request.folder.string()));
  for (const std::string& option : request.options) {
    command += " " + quoted(option);
  }
  return command;
}

[[nodiscard]] std::string array_text(const SlurmRequest& request)
{
  constexpr int seconds_before_limit = 120;
  return fmt::format(
      R"(#!/bin/bash
# Every task runs its share of the cases. Before the time limit it is told to stop; what is
# not done then is done after the task is queued again.
#SBATCH --job-name="{name}"
#SBATCH --array=1-{tasks}
#SBATCH --cpus-per-task={cores}
#SBATCH --mem={memory}M
#SBATCH --time={limit}
#SBATCH --signal=B:TERM@{before}
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output="{folder}/slurm-%A_%a.log"

{command} --jobs {cores} --threads 1 &
sweep=$!
trap 'kill -TERM "$sweep"' TERM
wait "$sweep"
code=$?
# A signal ends "wait", not the sweep, which needs a moment more.
while kill -0 "$sweep" 2>/dev/null; do
  wait "$sweep"
  code=$?
done
if [ "$code" -eq 4 ]; then
  scontrol requeue "${{SLURM_ARRAY_JOB_ID}}_${{SLURM_ARRAY_TASK_ID}}"
fi
exit "$code"
)",
      fmt::arg("name", request.name), fmt::arg("tasks", request.tasks),
      fmt::arg("cores", request.cores), fmt::arg("memory", (request.memory >> 20U) + 1),
      fmt::arg("limit", limit_text(request.seconds)),
      fmt::arg("before", seconds_before_limit),
      fmt::arg("folder", request.folder.string()),
      fmt::arg("command", command_of(request)));
}

[[nodiscard]] std::string collect_text(const SlurmRequest& request)
{
  return fmt::format(R"(#!/bin/bash
# The table after the last task of the array, even if cases are missing.
#SBATCH --job-name="{}-table"
#SBATCH --cpus-per-task=1
#SBATCH --mem=1024M
#SBATCH --time=0:30:00
#SBATCH --output="{}/slurm-table-%j.log"

exec {} --collect
)",
                     request.name, request.folder.string(), command_of(request));
}

[[nodiscard]] std::string submit_text(const SlurmRequest& request)
{
  const std::string folder = request.folder.string();
  return fmt::format(R"(#!/bin/sh
# Hands the array to Slurm, and the job that makes its table when all tasks have ended.
set -eu
array=$(sbatch --parsable {})
sbatch --dependency="afterany:${{array%%;*}}" {}
)",
                     quoted(folder + "/array.sbatch"),
                     quoted(folder + "/collect.sbatch"));
}

}  // namespace

Shard parse_shard(const std::string& text)
{
  const std::size_t cut = text.find('/');
  const auto index = whole_number(std::string_view(text).substr(0, cut));
  const auto count = cut == std::string::npos
                         ? std::nullopt
                         : whole_number(std::string_view(text).substr(cut + 1));
  if (!index || !count || *index < 1 || *index > *count) {
    throw CLI::ValidationError(
        fmt::format("--shard: {} is no part; write I/N with I from 1 to N, e.g. 2/8",
                    scenarios::in_quotes(text)));
  }
  return {*index - 1, *count};
}

Shard shard_of_environment()
{
  const auto task = from_environment("SLURM_ARRAY_TASK_ID");
  if (!task) {
    return {};
  }
  const auto count = from_environment("SLURM_ARRAY_TASK_COUNT");
  const std::size_t first = from_environment("SLURM_ARRAY_TASK_MIN").value_or(0);
  const std::size_t step = from_environment("SLURM_ARRAY_TASK_STEP").value_or(1);
  const bool sound = count && step > 0 && *task >= first && (*task - first) % step == 0;
  if (!sound || (*task - first) / step >= *count) {
    throw CLI::ValidationError(
        "the numbers of this Slurm job array do not tell which part is this task's; "
        "write --array=1-N, or give --shard I/N");
  }
  return {(*task - first) / step, *count};
}

std::vector<std::filesystem::path> write_slurm_scripts(const SlurmRequest& request)
{
  namespace fs = std::filesystem;
  std::vector<fs::path> paths;
  const auto write = [&](const char* name, const std::string& text) {
    paths.push_back(request.folder / name);
    postproc::write_atomically(paths.back(), text);
    std::error_code ignored;  // they can be handed to a shell as well
    fs::permissions(paths.back(), fs::perms::owner_exec, fs::perm_options::add, ignored);
  };
  write("array.sbatch", array_text(request));
  write("collect.sbatch", collect_text(request));
  write("submit.sh", submit_text(request));
  return paths;
}

}  // namespace torsowave::app
