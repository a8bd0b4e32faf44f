#include "app/compare_command.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <memory>
#include <optional>

#include "app/compare_model.hpp"
#include "app/compare_report.hpp"
#include "app/earlier_outputs.hpp"
#include "app/exit_codes.hpp"
#include "app/progress_printer.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "app/text_table.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

using postproc::CompareResult;

constexpr std::size_t most_pictures = 12;  ///< of one kind

struct CompareArguments {
  std::string scenario;
  std::string folder;
  int threads = 0;
  bool force = false;
  bool quiet = false;
  bool json = false;
};

/// A scenario that has an exact answer, ready to run.
struct Case {
  std::optional<ConcentricBody> body;  ///< empty: planar layers
  RunPlan plan;
};

/// Refuses all that cannot be compared, before anything runs or is written.
[[nodiscard]] Case prepare(const std::string& path)
{
  const scenarios::Scenario scenario =
      scenario_to_compare(scenarios::read_scenario(path));
  Case prepared;
  if (scenario.mode != scenarios::Mode::one_d) {
    prepared.body = concentric_body(scenario);
  }
  prepared.plan = plan_run(scenario);
  if (prepared.body) {
    static_cast<void>(compared_radius(prepared.plan, *prepared.body));
  }
  return prepared;
}

[[nodiscard]] CompareResult compare(const Case& prepared, const CompareArguments& options)
{
  RunOptions how;
  how.sar = false;
  how.threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  if (!options.quiet) {
    how.progress = progress_printer();
  }
  const postproc::Result run = run_in_memory(prepared.plan, how);
  if (!options.quiet) {
    clear_progress();
  }
  return prepared.body ? compare_cylinders(prepared.plan, *prepared.body, run)
                       : compare_layers(prepared.plan, run);
}

void draw_fields(const CompareResult& result, const StagedFolder& folder)
{
  const std::size_t count = result.frequencies.size();
  const std::size_t kept = std::min(count, most_pictures);
  for (std::size_t i = 0; i < kept; ++i) {
    const std::size_t f = kept == 1 ? 0 : i * (count - 1) / (kept - 1);
    const std::string name =
        fmt::format("compare_{}_{:.6g}MHz", result.quantities.front().key,
                    1e-6 * result.frequencies[f]);
    postproc::draw_compared_field(result, f, folder.path(name + ".png"));
    postproc::draw_field_differences(result, f, folder.path(name + "_difference.png"));
  }
}

void draw_pictures(const CompareResult& result, const StagedFolder& folder)
{
  if (result.frequencies.size() > 1) {
    postproc::draw_compared_powers(result, folder.path("compare_powers.png"));
    postproc::draw_power_differences(result, folder.path("compare_difference.png"));
    postproc::draw_difference_parts(result, folder.path("compare_parts.png"));
    if (result.angles_deg.empty() && !result.quantities.front().phases_deg.empty()) {
      postproc::draw_compared_phases(result, folder.path("compare_phase.png"));
    }
  }
  if (!result.angles_deg.empty()) {
    draw_fields(result, folder);
  }
}

void store(const CompareResult& result, StagedFolder& folder,
           const std::filesystem::path& target)
{
  postproc::write_compare_file(result, folder.path("compare.h5"));
  postproc::write_atomically(folder.path("compare.csv"), compare_csv(result));
  draw_pictures(result, folder);
  remove_earlier(target, "compare.h5", png_named("compare_"));
  folder.commit();
}

int run(const CompareArguments& options)
{
  const Case prepared = prepare(options.scenario);
  if (!options.force) {
    refuse_to_replace(options.folder, "compare.h5", "a comparison");
  }
  std::optional<StagedFolder> folder;  // an unwritable place fails before the run
  if (!options.folder.empty()) {
    folder.emplace(options.folder);
  }
  const CompareResult result = compare(prepared, options);
  if (folder) {
    store(result, *folder, options.folder);
  }
  if (options.json) {
    print_result(compare_json(result));
    return exit_done;
  }
  constexpr std::size_t readable = 100;
  const std::size_t columns =
      result_columns().value_or(std::numeric_limits<std::size_t>::max());
  if (options.quiet) {
    print_result(wrapped(verdict_text(result), 0, std::min(columns, readable)));
    return exit_done;
  }
  print_result(compare_text(result, columns) + "\n" +
               compare_notes(result, std::min(columns, readable)));
  print_result(folder ? fmt::format("comparison in {}\n", options.folder) : "");
  return exit_done;
}

}  // namespace

void add_compare_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "compare", "Full wave beside the exact answer: planar layers, concentric circles");
  const auto options = std::make_shared<CompareArguments>();
  command
      ->add_option("scenario", options->scenario,
                   "scenario file (YAML): mode 1D, or a slice of concentric circles")
      ->required();
  command
      ->add_option("-o,--output", options->folder,
                   "folder for compare.csv, compare.h5 and pictures (default: none)")
      ->type_name("DIR");
  command->add_option("--threads", options->threads, "threads (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command->add_flag("--force", options->force,
                    "replace an earlier comparison in the folder");
  command->add_flag("--quiet", options->quiet, "no progress; the verdict alone");
  command->add_flag("--json", options->json, "JSON in SI units instead of the tables");
  command->footer(
      "examples:\n"
      "  torsowave compare scenarios/skin-fat-muscle.yaml\n"
      "  torsowave compare scenarios/muscle-cylinder.yaml -o cylinder-answer");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return run(*options); };
  });
}

}  // namespace torsowave::app
