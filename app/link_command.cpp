#include "app/link_command.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <map>
#include <memory>
#include <numbers>
#include <optional>

#include "app/error_estimate.hpp"
#include "app/exit_codes.hpp"
#include "app/implant_gain.hpp"
#include "app/link_report.hpp"
#include "app/place_in_grid.hpp"
#include "app/progress_printer.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/quantity.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

using scenarios::Dimension;
using scenarios::Scenario;

struct Options {
  std::string input;
  std::string folder;
  std::string csv;
  std::string distance;
  std::string direction;
  std::string lines;
  int threads = 0;
  bool force = false;
  bool quiet = false;
  bool json = false;
};

/// \throws CLI::ValidationError  It is no such quantity, or out of range.
[[nodiscard]] double option_value(const char* name, const std::string& text,
                                  Dimension dimension, double low, double high)
{
  try {
    const double value = scenarios::parse_quantity(text, dimension);
    if (value > low && value <= high) {
      return value;
    }
  } catch (const scenarios::QuantityError& error) {
    throw CLI::ValidationError(fmt::format("{}: {}", name, error.what()));
  }
  throw CLI::ValidationError(
      fmt::format("{}: must be above {:g} and at most {:g} in {}, got {}", name, low,
                  high, dimension == Dimension::angle ? "rad" : "m", text));
}

/// What the command line says in the place of the scenario.
void apply_options(const Options& options, scenarios::Link& link)
{
  constexpr double turn = 2.0 * std::numbers::pi;
  if (!options.distance.empty()) {
    link.input.path.distance =
        option_value("--distance", options.distance, Dimension::length, 0.0, 1e6);
  }
  if (options.direction == "best") {
    link.direction.reset();
  } else if (!options.direction.empty()) {
    link.direction =
        option_value("--direction", options.direction, Dimension::angle, -turn, turn);
  }
}

[[nodiscard]] postproc::LinkRequest request_of(const scenarios::Link& link)
{
  postproc::LinkRequest request{link.input, std::nullopt, link.implant_gain_dbi,
                                link.rules};
  if (link.direction) {
    request.direction_deg = *link.direction * 180.0 / std::numbers::pi;
  }
  return request;
}

/// Where the reader's distance was said.
[[noreturn]] void refuse_reader(const Options& options, const Scenario& scenario,
                                const std::string& problem)
{
  if (!options.distance.empty()) {
    throw CLI::ValidationError("--distance: " + problem);
  }
  refuse_key(scenario, "link.reader.distance", problem);
}

/// Nothing but what the far field needs: no pictures, no fields kept.
[[nodiscard]] Scenario without_outputs(Scenario scenario)
{
  scenario.outputs = {};
  return scenario;
}

[[nodiscard]] RunOptions run_options(const Options& options)
{
  RunOptions how;
  how.folder = options.folder;
  how.force = options.force;
  how.threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  if (!options.quiet) {
    how.progress = progress_printer();
  }
  return how;
}

/// Runs a scenario; with a folder, into it.
[[nodiscard]] postproc::Result run_for_link(const Options& options,
                                            const Scenario& scenario)
{
  const RunPlan plan =
      plan_run(options.folder.empty() ? without_outputs(scenario) : scenario);
  if (const auto obstacle = gain_obstacle(plan)) {
    refuse_key(scenario, obstacle->key, obstacle->problem);
  }
  if (const auto problem = reader_problem(plan)) {
    refuse_reader(options, scenario, *problem);
  }
  const RunOptions how = run_options(options);
  postproc::Result result;
  if (options.folder.empty()) {
    result = run_in_memory(plan, how);
    add_error_estimates(plan, result);
    add_antenna_gains(plan, result);
  } else {
    result = run_scenario(plan, how);
  }
  if (!options.quiet) {
    clear_progress();
  }
  return result;
}

/// The key of the scenario that a problem of a budget belongs to.
[[nodiscard]] std::string key_of(const std::string& quantity)
{
  static const std::map<std::string, std::string> keys{
      {"transmit power of the implant", "link.transmit_power"},
      {"transmit power of the reader", "link.reader.transmit_power"},
      {"gain of the implant", "link.implant.gain"},
      {"gain of the reader", "link.reader.gain"},
      {"distance of the reader", "link.reader.distance"},
      {"bandwidth", "link.reader.bandwidth"},
      {"data rate", "link.data_rate"},
      {"error target", "link.target"},
      {"fading", "link.fading"}};
  const auto found = keys.find(quantity);
  return found == keys.end() ? "link" : found->second;
}

void refuse_impossible(const Options& options, const Scenario& scenario,
                       const std::vector<postproc::LinkProblem>& problems)
{
  std::vector<scenarios::Fault> faults;
  for (const postproc::LinkProblem& problem : problems) {
    const std::string key = key_of(problem.quantity);
    if (key == "link.reader.distance" && !options.distance.empty()) {
      refuse_reader(options, scenario, problem.reason);
    }
    faults.push_back({scenario.where(key), key,
                      fmt::format("{}: {}", problem.quantity, problem.reason)});
  }
  if (!faults.empty()) {
    throw scenarios::InputError(std::move(faults));
  }
}

[[nodiscard]] LinkStudy study_of(const Options& options, const Scenario& scenario,
                                 const postproc::Result& result)
{
  LinkStudy study{result.title,
                  result.scenario_sha256,
                  result.far_angle_deg,
                  result.link->assumptions,
                  result.notes,
                  request_of(scenario.link),
                  {}};
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    refuse_impossible(options, scenario, link_problems(result, f, study.request));
    study.links.push_back(link_around(result, f, study.request));
  }
  return study;
}

void store(const LinkStudy& study, const std::filesystem::path& target)
{
  StagedFolder folder(target);
  postproc::write_atomically(folder.path("link.json"), link_json(study));
  postproc::write_atomically(folder.path("link.csv"), link_csv(study));
  postproc::write_polar(link_figure(study), folder.path("link.png"));
  folder.commit();
}

/// The number of the frequency that --lines names; empty without it.
/// \param frequencies  those of the scenario [Hz]
[[nodiscard]] std::optional<std::size_t> frequency_asked(
    const Options& options, const std::vector<double>& frequencies)
{
  if (options.lines.empty()) {
    return std::nullopt;
  }
  const double wanted =
      option_value("--lines", options.lines, Dimension::frequency, 0.0, 1e12);
  std::string known;
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    if (std::abs(frequencies[f] - wanted) <= 1e-6 * wanted) {
      return f;
    }
    known +=
        fmt::format("{}{:.6g} MHz", known.empty() ? "" : ", ", frequencies[f] * 1e-6);
  }
  throw CLI::ValidationError(
      fmt::format("--lines: {} is not among the frequencies: {}", options.lines, known));
}

void print(const Options& options, const LinkStudy& study,
           std::optional<std::size_t> lines_of)
{
  constexpr std::size_t readable = 100;
  const std::size_t columns =
      result_columns().value_or(std::numeric_limits<std::size_t>::max());
  const std::size_t prose = std::min(columns, readable);
  if (options.json) {
    print_result(link_json(study));
    return;
  }
  if (lines_of) {
    print_result(link_lines(study, *lines_of, columns));
    print_result(std::string(postproc::link_caution) + "\n");
    return;
  }
  print_result(link_text(study, prose));
  if (!options.quiet) {
    print_result("\n" + link_notes(study, prose));
    print_result(
        options.folder.empty()
            ? ""
            : fmt::format("link.json, link.csv, link.png in {}\n", options.folder));
  }
}

int link(const Options& options)
{
  Scenario scenario = scenarios::read_scenario(options.input);
  apply_options(options, scenario.link);
  const auto lines_of = frequency_asked(options, scenario.frequencies);
  const postproc::Result result = run_for_link(options, scenario);
  const LinkStudy study = study_of(options, scenario, result);
  if (!options.folder.empty()) {
    store(study, options.folder);
  }
  if (!options.csv.empty()) {
    postproc::write_atomically(options.csv, link_csv(study));
  }
  print(options, study, lines_of);
  return exit_done;
}

void add_options(CLI::App& command, Options& options)
{
  command
      .add_option("scenario", options.input, "scenario file (YAML), which is run first")
      ->required();
  command
      .add_option("--distance", options.distance,
                  "of the reader from the origin, e.g. 0.5m (default: the scenario's)")
      ->type_name("D");
  command
      .add_option("--direction", options.direction,
                  "of the reader, e.g. 90deg (front), or best (default: the scenario's)")
      ->type_name("A");
  command
      .add_option("--lines", options.lines,
                  "every line of the budget at this frequency, with formula and source")
      ->type_name("F");
  command
      .add_option("--csv", options.csv,
                  "write gain and margins by direction to this file")
      ->type_name("FILE");
  command
      .add_option("-o,--output", options.folder,
                  "folder for the run's results, link.json, link.csv and link.png "
                  "(default: nothing is kept)")
      ->type_name("DIR");
  command.add_option("--threads", options.threads, "threads (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command.add_flag("--force", options.force, "replace an earlier result in the folder");
  command.add_flag("--json", options.json,
                   "JSON in SI units and dB instead of the table");
  command.add_flag("--quiet", options.quiet,
                   "no progress; tables alone, without notes and caution");
}

}  // namespace

void add_link_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "link", "Link budget between implant and reader, both ways, in all directions");
  const auto options = std::make_shared<Options>();
  add_options(*command, *options);
  command->footer(
      "examples:\n"
      "  torsowave link scenarios/abdomen-graft-sensor.yaml\n"
      "  torsowave link scenarios/abdomen-graft-sensor.yaml --distance 0.5m --lines "
      "403.5MHz\n\n"
      "The scenario's section \"link\" holds the reader, the modulation and the rest.");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return link(*options); };
  });
}

}  // namespace torsowave::app
