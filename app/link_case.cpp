#include "app/link_case.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <numbers>
#include <sstream>
#include <utility>

#include "app/error_estimate.hpp"
#include "app/implant_gain.hpp"
#include "app/place_in_grid.hpp"
#include "app/progress_printer.hpp"
#include "app/run_links.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "postproc/stored_result.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/quantity.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

using scenarios::Dimension;
using scenarios::Scenario;

/// \throws scenarios::InputError  always: an option of the command line has a problem.
[[noreturn]] void refuse_option(const char* name, const std::string& problem)
{
  scenarios::refuse({name, 0, 0}, problem);
}

/// \throws scenarios::InputError  It is no such quantity, or out of range.
[[nodiscard]] double option_value(const char* name, const std::string& text,
                                  Dimension dimension, double low, double high)
{
  try {
    const double value = scenarios::parse_quantity(text, dimension);
    if (value > low && value <= high) {
      return value;
    }
  } catch (const scenarios::QuantityError& error) {
    refuse_option(name, error.what());
  }
  refuse_option(name,
                fmt::format("must be above {:g} and at most {:g} {}, got {}", low, high,
                            dimension == Dimension::angle       ? "rad"
                            : dimension == Dimension::frequency ? "Hz"
                                                                : "m",
                            text));
}

[[nodiscard]] double direction_of(const std::string& text)
{
  constexpr double turn = 2.0 * std::numbers::pi;
  return option_value("--direction", text, Dimension::angle, -turn, turn);
}

/// What the command line says in the place of the scenario.
void apply_options(const LinkOptions& options, scenarios::Link& link)
{
  if (!options.distance.empty()) {
    link.input.path.distance =
        option_value("--distance", options.distance, Dimension::length, 0.0, 1e6);
  }
  if (options.direction == "best") {
    link.direction.reset();
  } else if (!options.direction.empty()) {
    link.direction = direction_of(options.direction);
  }
}

/// Where the reader's distance was said.
[[noreturn]] void refuse_reader(const LinkOptions& options, const Scenario& scenario,
                                const std::string& problem)
{
  if (!options.distance.empty()) {
    refuse_option("--distance", problem);
  }
  refuse_key(scenario, "link.reader.distance", problem);
}

void forget_link(Scenario& scenario)
{
  std::erase_if(scenario.locations, [](const auto& key) {
    return key.first == "link" || key.first.starts_with("link.");
  });
}

/// What is run: without a folder no more than the far field needs, no pictures, no fields
/// kept. With a reader that options have put elsewhere the link is none of the run's: the
/// scenario that it stores has another.
[[nodiscard]] Scenario scenario_to_run(const LinkOptions& options, Scenario scenario,
                                       bool stored)
{
  if (!stored) {
    scenario.outputs = {};
  }
  if (!options.link_file.empty()) {
    forget_link(scenario);
  } else if (!options.distance.empty() || !options.direction.empty()) {
    scenario.locations.erase("link");
  }
  return scenario;
}

[[nodiscard]] RunOptions run_options(const LinkOptions& options)
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

/// A plan whose implant will have a gain, and its reader a place outside the body.
[[nodiscard]] RunPlan plan_for_link(const LinkOptions& options, const Scenario& scenario,
                                    bool stored)
{
  RunPlan plan = plan_run(scenario_to_run(options, scenario, stored));
  if (const auto obstacle = gain_obstacle(plan)) {
    refuse_key(scenario, obstacle->key, obstacle->problem);
  }
  if (const auto problem = reader_problem(plan)) {
    refuse_reader(options, scenario, *problem);
  }
  return plan;
}

/// Runs a scenario; with a folder, into it.
[[nodiscard]] postproc::Result run_for_link(const LinkOptions& options,
                                            const Scenario& scenario)
{
  const RunPlan plan = plan_for_link(options, scenario, !options.folder.empty());
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

void refuse_impossible(const LinkOptions& options, const Scenario& scenario,
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

/// The number of the frequency that --lines names; empty without it.
/// \param frequencies  those of the scenario [Hz]
[[nodiscard]] std::optional<std::size_t> frequency_asked(
    const LinkOptions& options, const std::vector<double>& frequencies)
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
  refuse_option("--lines",
                fmt::format("{} is not among the frequencies: {}", options.lines, known));
}

[[nodiscard]] std::vector<double> frequencies_of(const postproc::Result& result)
{
  std::vector<double> frequencies;
  for (const postproc::FrequencyResult& f : result.frequencies) {
    frequencies.push_back(f.frequency);
  }
  return frequencies;
}

/// Why a stored result has no gain of an implant.
[[nodiscard]] std::string missing_gain(const postproc::Result& result)
{
  if (result.mode == "1D") {
    return "planar layers have no far field that a link could use";
  }
  if (result.source.kind == "plane wave") {
    return "a plane wave is no transmitter: run an implant in its place";
  }
  if (result.source.kind == "magnetic line") {
    return "a magnetic line has no gain in three dimensions here: run a dipole, or a "
           "line current in mode TMz";
  }
  if (result.far_angle_deg.empty()) {
    return "there is no far field: run it with air alone between body and absorber";
  }
  for (const std::string& note : result.notes) {
    if (note.starts_with(no_gain_note)) {
      return note.substr(no_gain_note.size());
    }
  }
  return "no gain of an implant is stored: run the scenario again";
}

/// A folder with a result; the link is that of its own scenario, or of another file.
[[nodiscard]] LinkCase stored_case(const LinkOptions& options)
{
  const std::filesystem::path folder = options.input;
  LinkCase stored{{}, postproc::read_result(folder / "result.h5")};
  if (std::ranges::any_of(stored.result.frequencies,
                          [](const auto& f) { return !f.antenna_gain.has_value(); }) ||
      stored.result.frequencies.empty() || !stored.result.link) {
    scenarios::refuse({options.input, 0, 0}, "cannot make a link of this result: " +
                                                 missing_gain(stored.result));
  }
  stored.scenario = options.link_file.empty()
                        ? scenarios::parse_link_alone(stored.result.scenario_yaml,
                                                      folder / "scenario.yaml")
                        : scenarios::read_link_alone(options.link_file);
  apply_options(options, stored.scenario.link);
  return stored;
}

/// Takes the link of another file, with its places.
void take_link(Scenario& scenario, Scenario other)
{
  scenario.link = std::move(other.link);
  forget_link(scenario);
  scenario.locations.merge(other.locations);
}

/// A scenario with the link that is asked for, but for the command line.
[[nodiscard]] Scenario scenario_of(const LinkOptions& options,
                                   const std::filesystem::path& path)
{
  Scenario scenario = scenarios::read_scenario(path);
  if (!options.link_file.empty()) {
    take_link(scenario, scenarios::read_link_alone(options.link_file));
  }
  return scenario;
}

/// Towards the readers of a coverage [rad].
[[nodiscard]] std::vector<double> reader_directions(const LinkOptions& options,
                                                    const scenarios::Link& link)
{
  if (options.direction == "best") {
    refuse_option("--direction",
                  "best is another direction at every place; with --coverage write "
                  "angles, e.g. 90deg,270deg, or leave it out for all four sides");
  }
  std::vector<double> directions;
  std::istringstream list(options.direction);
  for (std::string text; std::getline(list, text, ',');) {
    directions.push_back(direction_of(text));
  }
  if (directions.empty() && link.direction) {
    directions.push_back(*link.direction);
  }
  if (directions.empty()) {
    constexpr double quarter = 0.5 * std::numbers::pi;
    directions = {0.0, quarter, 2.0 * quarter, 3.0 * quarter};
  }
  return directions;
}

/// A scenario, run first.
[[nodiscard]] LinkCase fresh_case(const LinkOptions& options)
{
  LinkCase fresh{scenario_of(options, options.input), {}};
  apply_options(options, fresh.scenario.link);
  static_cast<void>(frequency_asked(options, fresh.scenario.frequencies));
  fresh.result = run_for_link(options, fresh.scenario);
  return fresh;
}

}  // namespace

LinkCase link_case(const LinkOptions& options)
{
  return std::filesystem::is_directory(options.input) ? stored_case(options)
                                                      : fresh_case(options);
}

LinkStudy study_of(const LinkOptions& options, const LinkCase& one)
{
  const postproc::Result& result = one.result;
  LinkStudy study{result.title,
                  result.scenario_sha256,
                  result.far_angle_deg,
                  result.link->assumptions,
                  result.notes,
                  link_request(one.scenario.link),
                  {},
                  frequency_asked(options, frequencies_of(result))};
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    refuse_impossible(options, one.scenario, link_problems(result, f, study.request));
    study.links.push_back(link_around(result, f, study.request));
  }
  return study;
}

CoverageInput coverage_input(const LinkOptions& options)
{
  const std::filesystem::path input = options.input;
  const bool is_folder = std::filesystem::is_directory(input);
  Scenario scenario = scenario_of(options, is_folder ? input / "scenario.yaml" : input);
  const std::vector<double> directions = reader_directions(options, scenario.link);
  if (!options.direction.empty()) {
    scenario.link.direction.reset();  // others are asked for
  }
  LinkOptions rest = options;
  rest.direction.clear();
  apply_options(rest, scenario.link);
  return {plan_for_link(options, scenario, false), directions};
}

postproc::LinkInput unity_link(const LinkOptions& options, const RunPlan& plan,
                               double frequency, double direction)
{
  const geometry::BodyReach reach =
      geometry::body_reach(plan.grid.raster, plan.body.value(), std::vector{direction});
  postproc::LinkInput input = plan.scenario.link.input;
  input.implant.gain_dbi = 0.0;
  input.path.frequency = frequency;
  input.path.skin_distance = reach.to_skin.front();
  input.path.body_extent = reach.extent;
  refuse_impossible(options, plan.scenario, postproc::link_problems(input));
  return input;
}

}  // namespace torsowave::app
