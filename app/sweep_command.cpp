#include "app/sweep_command.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <charconv>
#include <cstdlib>
#include <limits>
#include <memory>
#include <set>
#include <string_view>

#include "app/exit_codes.hpp"
#include "app/program_digest.hpp"
#include "app/progress_printer.hpp"
#include "app/run_command.hpp"
#include "app/run_plan.hpp"
#include "app/slurm_script.hpp"
#include "app/sweep_price.hpp"
#include "app/sweep_report.hpp"
#include "app/sweep_runner.hpp"
#include "app/sweep_store.hpp"
#include "app/sweep_table.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/result.hpp"
#include "postproc/version.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

struct SweepArguments {
  std::string sweep;
  std::string folder;
  std::string shard;
  std::string checkpoint;
  std::vector<std::string> columns;
  std::vector<std::string> chances;
  int jobs = 0;
  int threads = 0;
  int slurm = 0;
  bool dry_run = false;
  bool collect = false;
  bool retry = false;
  bool keep_faulty = false;
  bool quiet = false;
  bool json = false;
};

/// A sweep that was read, and where it goes.
struct Sweep {
  scenarios::SweepPlan plan;
  SweepStore store;
  Shard shard;
  std::vector<SweepJob> jobs;  ///< of this shard
};

[[nodiscard]] std::size_t line_columns()
{
  return result_columns().value_or(std::numeric_limits<std::size_t>::max());
}

/// Version and revision; of a build that no revision stands for, the program itself too.
[[nodiscard]] std::string program_identity()
{
  const std::string digest = program_digest();
  return fmt::format("{} {}{}{}", postproc::tool_version(), postproc::tool_revision(),
                     digest.empty() ? "" : " ", digest);
}

[[nodiscard]] Sweep open_sweep(const SweepArguments& options)
{
  const Shard shard =
      options.shard.empty() ? shard_of_environment() : parse_shard(options.shard);
  scenarios::SweepPlan plan =
      scenarios::read_sweep(options.sweep, program_identity(), options.keep_faulty);
  fs::path folder = options.folder.empty()
                        ? fs::path(plan.path.stem().string() + "-sweep")
                        : fs::path(options.folder);
  std::vector<SweepJob> jobs = jobs_of(plan, shard.index, shard.count);
  return {std::move(plan), SweepStore(fs::absolute(folder)), shard, std::move(jobs)};
}

/// What this machine, or the part of it that Slurm gives, has left [bytes].
[[nodiscard]] std::uint64_t memory_to_use()
{
  std::uint64_t memory = available_memory() / 10 * 9;
  if (const char* text = std::getenv("SLURM_MEM_PER_NODE")) {
    const std::string_view megabytes(text);
    std::uint64_t given = 0;
    std::from_chars(megabytes.data(), megabytes.data() + megabytes.size(), given);
    memory = given > 0 ? std::min(memory, given << 20U) : memory;
  }
  return memory;
}

/// One thread a case wherever there are cases for all cores: two runs side by side are
/// faster than one on two cores. Fewer at a time where memory is short.
void choose_jobs(const SweepArguments& options, const Sweep& sweep, SweepOptions& how)
{
  const int cores = omp_get_max_threads();
  how.memory = memory_to_use();
  const auto cases =
      static_cast<int>(std::clamp<std::size_t>(sweep.jobs.size(), 1, 1024));
  how.jobs = options.jobs > 0 ? options.jobs : std::min(cores, cases);
  std::uint64_t largest = 1;
  for (const SweepJob& job : sweep.jobs) {
    largest = std::max(largest, job.memory);
  }
  const int side_by_side = static_cast<int>(std::clamp<std::uint64_t>(
      how.memory / largest, 1, static_cast<std::uint64_t>(how.jobs)));
  how.threads = options.threads > 0 ? options.threads : std::max(1, cores / side_by_side);
}

/// Finished cases that are not whole make room for another run.
void set_damaged_aside(const Sweep& sweep)
{
  for (const SweepJob& job : sweep.jobs) {
    if (!sweep.store.is_finished(job.id)) {
      continue;
    }
    try {
      static_cast<void>(sweep.store.values(job.id, sweep.plan.scenario_text(job.index)));
    } catch (const postproc::SummaryError& error) {
      if (const auto lock = sweep.store.try_lock(job.id)) {
        const fs::path aside = sweep.store.set_aside(job.id);
        print_message(fmt::format("case {} in {} {}; moved to {}, will be run again\n",
                                  job.index + 1, sweep.store.finished(job.id).string(),
                                  error.what(), aside.string()));
      }
    }
  }
}

[[nodiscard]] std::vector<Chance> chances_of(const SweepArguments& options,
                                             const postproc::Table& table)
{
  std::vector<Chance> chances;
  for (const std::string& text : options.chances) {
    chances.push_back(parse_chance(text));
    require_columns(table, {chances.back().column});
  }
  if (options.chances.empty()) {
    for (const std::string& name : usual_columns(table)) {
      if (name.find("margin") != std::string::npos) {
        chances.push_back({name, true, 0.0});
      }
    }
  }
  return chances;
}

[[nodiscard]] std::string counts_text(const Sweep& sweep, const SweepCounts& counts)
{
  return fmt::format("{} cases: {} done, {} failed, {} missing", sweep.plan.cases.size(),
                     counts.done, counts.failed, counts.missing);
}

/// Table, pictures and figures of what is there.
[[nodiscard]] int collect(const SweepArguments& options, const Sweep& sweep)
{
  SweepTable made = make_sweep_table(sweep.plan, sweep.store);
  const postproc::Table& table = made.table;
  const bool random = sweep.plan.combination == scenarios::Combination::random;
  std::vector<std::string> columns = usual_columns(table);
  std::vector<Chance> chances;
  if (made.counts.done > 0) {
    columns = options.columns.empty() ? columns : options.columns;
    require_columns(table, columns);
    chances = chances_of(options, table);
  }
  const fs::path folder = sweep.store.folder();
  write_table_csv(folder / "table.csv", table);
  postproc::write_table(folder / "table.h5", table);
  const std::vector<std::string> figures =
      draw_main_effects(sweep.plan, table, columns, folder);
  for (const std::string& damaged : made.damaged) {
    print_message("warning: " + damaged + "; run the sweep again\n");
  }
  const int code = made.counts.failed + made.counts.missing == 0 ? exit_done : exit_fault;
  if (options.json) {
    print_result(outcome_json(made.counts, folder, figures));
  } else if (!options.quiet) {
    std::string text = fmt::format("{}\ntable       {}/table.csv, table.h5\n",
                                   counts_text(sweep, made.counts), folder.string());
    for (const std::string& figure : figures) {
      text += fmt::format("figure      {}/{}\n", folder.string(), figure);
    }
    if (random || !options.chances.empty() || !options.columns.empty()) {
      text += "\n" + statistics_text(table, columns, chances, line_columns());
    }
    print_result(text + "\n" + postproc::caution + "\n");
  }
  if (code != exit_done && made.counts.missing > 0) {
    print_message(
        fmt::format("{} of {} cases are missing; the same command without "
                    "--collect runs them\n",
                    made.counts.missing, sweep.plan.cases.size()));
  }
  return code;
}

/// Whether every case of every part has a result or a failure on record.
[[nodiscard]] bool all_settled(const Sweep& sweep)
{
  return std::ranges::all_of(sweep.plan.cases, [&](const scenarios::SweepCase& one) {
    return !one.faults.empty() || sweep.store.is_finished(one.id) ||
           sweep.store.failure(one.id).has_value();
  });
}

[[nodiscard]] int run(const SweepArguments& options, const Sweep& sweep, SweepOptions how)
{
  sweep.store.create();
  std::set<std::string> ids;
  for (const scenarios::SweepCase& one : sweep.plan.cases) {
    ids.insert(one.id);
  }
  sweep.store.clean(ids);
  set_damaged_aside(sweep);
  postproc::write_atomically(sweep.store.folder() / "sweep.yaml", sweep.plan.text);
  how.checkpoint = options.checkpoint;
  if (!options.quiet) {
    how.progress = sweep_progress_printer();
    how.announce = [](const std::string& text) {
      clear_progress();
      print_message(text + "\n");
    };
  }
  const SweepOutcome outcome = run_cases(sweep.plan, sweep.store, sweep.jobs, how);
  if (!options.quiet) {
    clear_progress();
  }
  if (outcome.stopped) {
    print_message(
        fmt::format("stopped by a signal: {} of {} cases are done; the same "
                    "command goes on\n",
                    outcome.done, sweep.jobs.size()));
    return exit_suspended;
  }
  if (sweep.shard.count > 1 && !all_settled(sweep)) {
    if (!options.quiet) {
      print_result(fmt::format(
          "part {} of {}: {} cases done, {} failed; the table comes with the last part, "
          "or --collect\n",
          sweep.shard.index + 1, sweep.shard.count, outcome.done, outcome.failed));
    }
    return outcome.failed == 0 ? exit_done : exit_fault;
  }
  return collect(options, sweep);
}

[[nodiscard]] SweepPrice price_of_sweep(const Sweep& sweep, const SweepOptions& how)
{
  return price_sweep(sweep.plan, sweep.store, sweep.jobs, how);
}

[[nodiscard]] int tell_faults(const SweepPrice& price)
{
  for (const std::string& fault : price.faults) {
    print_message("error: " + fault + "\n");
  }
  return price.faults.empty() ? exit_done : exit_input;
}

[[nodiscard]] int dry_run(const SweepArguments& options, const Sweep& sweep,
                          const SweepOptions& how)
{
  const SweepPrice price = price_of_sweep(sweep, how);
  print_result(options.json ? price_json(price)
                            : price_text(sweep.plan, sweep.store, price, line_columns()));
  return tell_faults(price);
}

/// The options that the tasks of an array share with this command.
[[nodiscard]] std::vector<std::string> options_for_tasks(const SweepArguments& options)
{
  std::vector<std::string> shared;
  for (const std::string& column : options.columns) {
    shared.insert(shared.end(), {"--column", column});
  }
  for (const std::string& chance : options.chances) {
    shared.insert(shared.end(), {"--chance", chance});
  }
  if (!options.checkpoint.empty()) {
    shared.insert(shared.end(), {"--checkpoint", options.checkpoint});
  }
  if (options.retry) {
    shared.emplace_back("--retry");
  }
  if (options.keep_faulty) {
    shared.emplace_back("--keep-faulty");
  }
  return shared;
}

[[nodiscard]] int write_scripts(const SweepArguments& options, const Sweep& sweep,
                                SweepOptions how)
{
  how.jobs = options.jobs > 0 ? options.jobs : 1;
  how.threads = 1;
  const SweepPrice price = price_of_sweep(sweep, how);
  if (const int code = tell_faults(price); code != exit_done) {
    return code;
  }
  sweep.store.create();
  SlurmRequest request;
  request.program = fs::read_symlink("/proc/self/exe");
  request.sweep = fs::absolute(options.sweep);
  request.folder = sweep.store.folder();
  request.name = "sweep-" + sweep.plan.path.stem().string();
  request.tasks = static_cast<std::size_t>(options.slurm);
  request.cores = how.jobs;
  // Twice what this machine would take, three times the longest case, and ten minutes to
  // begin and end: nodes differ (common practice, no published source).
  request.seconds =
      600.0 + std::max(3.0 * price.longest, 2.0 * price.all / (options.slurm * how.jobs));
  request.memory =
      static_cast<std::uint64_t>(how.jobs) * price.memory / 10 * 11 + (256U << 20U);
  request.options = options_for_tasks(options);
  std::string text;
  for (const fs::path& path : write_slurm_scripts(request)) {
    text += path.string() + "\n";
  }
  print_result(options.quiet ? ""
                             : text + "submit with: " +
                                   (request.folder / "submit.sh").string() + "\n");
  return exit_done;
}

int sweep(const SweepArguments& options)
{
  for (const std::string& text : options.chances) {
    static_cast<void>(parse_chance(text));  // before a night's work, not after it
  }
  static_cast<void>(checkpoint_interval(options.checkpoint));
  const Sweep sweep = open_sweep(options);
  SweepOptions how;
  how.retry = options.retry;
  choose_jobs(options, sweep, how);
  if (options.dry_run) {
    return dry_run(options, sweep, how);
  }
  if (options.slurm > 0) {
    return write_scripts(options, sweep, how);
  }
  if (options.collect) {
    if (!fs::is_directory(sweep.store.folder() / "cases")) {
      scenarios::refuse({sweep.store.folder().string(), 0, 0},
                        "holds no sweep; give the folder that the sweep was run into "
                        "with -o");
    }
    return collect(options, sweep);
  }
  return run(options, sweep, how);
}

void add_options(CLI::App& command, SweepArguments& options)
{
  command.add_option("sweep", options.sweep, "sweep file (YAML)")->required();
  command.add_option("-o,--output", options.folder,
                     "folder of the cases and the table (default: <sweep>-sweep)");
  command
      .add_option("--jobs", options.jobs,
                  "cases at a time (default: one for each core, fewer where memory is "
                  "short)")
      ->check(CLI::Range(1, 1024));
  command
      .add_option("--threads", options.threads,
                  "threads of each case (default: the cores that --jobs leaves idle)")
      ->check(CLI::Range(1, 1024));
  command
      .add_option("--shard", options.shard,
                  "run part I of N alone (default: the task of a Slurm job array)")
      ->type_name("I/N");
  CLI::Option* dry = command.add_flag("--dry-run", options.dry_run,
                                      "list the cases, their memory and time; run none");
  CLI::Option* collect = command.add_flag("--collect", options.collect,
                                          "make the table of what is there; run none");
  command
      .add_option("--slurm", options.slurm,
                  "write the scripts of a Slurm job array of TASKS; run none")
      ->type_name("TASKS")
      ->check(CLI::Range(1, 100000))
      ->excludes(dry)
      ->excludes(collect);
  dry->excludes(collect);
  command
      .add_option("--checkpoint", options.checkpoint,
                  "every case keeps its state every so often, e.g. 10min, and goes on "
                  "from it after a stop")
      ->type_name("INTERVAL");
  command.add_flag("--retry", options.retry,
                   "run failed cases again, whatever their error (default: those alone "
                   "that memory, disk or a signal ended)");
  command.add_flag("--keep-faulty", options.keep_faulty,
                   "go on where single cases are no valid scenarios: they count as "
                   "failed");
  command
      .add_option("--column", options.columns,
                  "column of the table for statistics and figures; may be repeated "
                  "(default: loss_db, peak gain, margins)")
      ->type_name("COLUMN")
      ->allow_extra_args(false);
  command
      .add_option(
          "--chance", options.chances,
          "how probable a comparison is, with its 95 % interval, e.g. \"loss_db < "
          "60\"; may be repeated")
      ->type_name("COMPARISON")
      ->allow_extra_args(false);
  command.add_flag("--quiet", options.quiet, "no progress, no table on standard output");
  command.add_flag("--json", options.json, "machine-readable outcome");
}

}  // namespace

void add_sweep_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "sweep", "Run many variants of a scenario; give it again to go on after a stop");
  auto options = std::make_shared<SweepArguments>();
  add_options(*command, *options);
  command->footer(
      "example: torsowave sweep scenarios/depth-by-frequency.yaml -o depth --dry-run");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return sweep(*options); };
  });
}

}  // namespace torsowave::app
