#include "app/check_command.hpp"

#include <omp.h>

#include <limits>
#include <memory>
#include <string>

#include "app/check_report.hpp"
#include "app/exit_codes.hpp"
#include "app/label_report.hpp"
#include "app/price.hpp"
#include "app/run_plan.hpp"
#include "app/terminal.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

struct CheckArguments {
  std::string scenario;
  std::string labels;
  int threads = 0;
  bool json = false;
  bool quiet = false;
};

int check(const CheckArguments& options)
{
  const RunPlan plan = plan_run(scenarios::read_scenario(options.scenario));
  if (!options.labels.empty()) {
    export_label_map(plan, options.labels);
  }
  if (options.quiet && !options.json) {
    return exit_done;
  }
  const Price price =
      price_of(plan, options.threads > 0 ? options.threads : omp_get_max_threads());
  print_result(options.json ? check_json(plan, price)
                            : check_text(plan, price,
                                         result_columns().value_or(
                                             std::numeric_limits<std::size_t>::max())));
  return exit_done;
}

}  // namespace

void add_check_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "check", "Validate a scenario and tell what a run of it would cost");
  auto options = std::make_shared<CheckArguments>();
  command->add_option("scenario", options->scenario, "scenario file (YAML)")->required();
  command
      ->add_option("--threads", options->threads, "threads to price (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command->add_option(
      "--export-labels", options->labels,
      "write the tissue of each cell as a label map (.nii, .nii.gz, .png) "
      "and its table (.csv)");
  command->add_flag("--json", options->json, "machine-readable output");
  command->add_flag("--quiet", options->quiet, "faults and exit code alone, no prices");
  command->footer("example: torsowave check scenarios/abdomen-graft-sensor.yaml");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return check(*options); };
  });
}

}  // namespace torsowave::app
