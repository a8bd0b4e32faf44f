#include "app/run_command.hpp"

#include <fmt/format.h>

#include <omp.h>

#include <limits>
#include <memory>
#include <optional>

#include "app/exit_codes.hpp"
#include "app/progress_printer.hpp"
#include "app/refinement.hpp"
#include "app/run_plan.hpp"
#include "app/run_report.hpp"
#include "app/run_scenario.hpp"
#include "app/terminal.hpp"
#include "postproc/summary_json.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/quantity.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

struct RunArguments {
  std::string scenario;
  std::string folder;
  int threads = 0;
  int steps_per_pass = 0;
  std::optional<double> refine;
  bool force = false;
  bool quiet = false;
  bool json = false;
  std::string checkpoint;
  bool resume = false;
};

/// What a run says while it goes on.
void let_talk(RunOptions& how, bool quiet)
{
  how.warn = [](const std::string& text) {
    clear_progress();
    print_message("warning: " + text + '\n');
  };
  if (quiet) {
    return;
  }
  how.progress = progress_printer();
  how.announce = [](const std::string& text) {
    clear_progress();
    print_message(text);
  };
}

int run(const RunArguments& options)
{
  const std::optional<double> every = checkpoint_interval(options.checkpoint);
  const RunPlan plan = plan_run(scenarios::read_scenario(options.scenario));
  std::optional<RunPlan> refined;
  if (options.refine) {
    refined = plan_refined(plan, *options.refine);
  }
  RunOptions how;
  how.refined = refined ? &*refined : nullptr;
  how.folder = options.folder.empty()
                   ? std::filesystem::path(options.scenario).stem().string() + "-result"
                   : options.folder;
  how.force = options.force;
  how.threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  how.steps_per_pass = options.steps_per_pass;
  how.checkpoint_every = every;
  how.resume = options.resume;
  let_talk(how, options.quiet);
  const postproc::Result result = run_scenario(plan, how);
  if (!options.quiet) {
    clear_progress();
  }
  if (options.json) {
    print_result(postproc::summary_json(result));
  } else if (!options.quiet) {
    print_result(
        run_text(result, how.folder.string(),
                 result_columns().value_or(std::numeric_limits<std::size_t>::max())));
  }
  return exit_done;
}

}  // namespace

std::optional<double> checkpoint_interval(const std::string& text)
{
  if (text.empty()) {
    return std::nullopt;
  }
  try {
    const double interval =
        scenarios::parse_quantity(text, scenarios::Dimension::working_time);
    if (interval > 0.0) {
      return interval;
    }
  } catch (const scenarios::QuantityError& error) {
    throw CLI::ValidationError(
        fmt::format("--checkpoint: {}; on the command line: 10min, or \"10 min\" in "
                    "quotes",
                    error.what()));
  }
  throw CLI::ValidationError(fmt::format("--checkpoint: must be longer than 0 s, got {}",
                                         scenarios::in_quotes(text)));
}

void add_run_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "run", "Run one scenario and store fields, powers and pictures");
  auto options = std::make_shared<RunArguments>();
  command->add_option("scenario", options->scenario, "scenario file (YAML)")->required();
  command->add_option("-o,--output", options->folder,
                      "folder of the results (default: <scenario>-result)");
  command->add_option("--threads", options->threads, "threads (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command
      ->add_option("--steps-per-pass", options->steps_per_pass,
                   "time steps in one pass over memory (default: by the cache); the "
                   "results do not depend on it")
      ->check(CLI::Range(1, 1024));
  command
      ->add_option("--refine", options->refine,
                   "run again with cells RATIO times as large and extrapolate: the grid "
                   "error of every power and sector (default: 2/3, 3.4 times the work)")
      ->type_name("RATIO")
      ->expected(0, 1)
      ->default_str(fmt::format("{}", default_refinement))
      ->check(CLI::Range(0.2, 0.9));
  command->add_flag("--force", options->force,
                    "replace an earlier result in the folder, and forget a checkpoint "
                    "there that --resume does not ask for");
  command
      ->add_option("--checkpoint", options->checkpoint,
                   "keep the state of the run every so often, e.g. 10min; a signal then "
                   "keeps it, too, and the exit code is 4")
      ->type_name("INTERVAL");
  command->add_flag("--resume", options->resume,
                    "go on from the checkpoint in the folder, at the same intervals; "
                    "without one, start from the beginning");
  command->add_flag("--quiet", options->quiet, "no progress, no table");
  command->add_flag("--json", options->json, "print summary.json instead of the table");
  command->footer(
      "examples:\n"
      "  torsowave run scenarios/abdomen-graft-sensor.yaml -o demo-output\n"
      "  torsowave run large.yaml -o large --checkpoint 10min\n"
      "  torsowave run large.yaml -o large --resume");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return run(*options); };
  });
}

}  // namespace torsowave::app
