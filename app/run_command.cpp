#include "app/run_command.hpp"

#include <fmt/format.h>
#include <omp.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>

#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "postproc/summary_json.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

struct Options {
  std::string scenario;
  std::string folder;
  int threads = 0;
  bool force = false;
  bool quiet = false;
  bool json = false;
};

[[nodiscard]] std::string clock_text(double seconds)
{
  const int whole = static_cast<int>(std::min(seconds, 3.6e8));
  return whole < 3600
             ? fmt::format("{}:{:02}", whole / 60, whole % 60)
             : fmt::format("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60);
}

/// One line that renews itself on a terminal, a line in ten seconds in a log.
[[nodiscard]] std::function<void(const Progress&)> progress_printer()
{
  const bool terminal = ::isatty(STDERR_FILENO) != 0;
  return [terminal, calls = 0](const Progress& p) mutable {
    constexpr int calls_between_lines = 20;
    if (!terminal && calls++ % calls_between_lines != 0) {
      return;
    }
    fmt::print(stderr,
               "{}step {}, {:.2f} ns, {:.0f} %, energy {:.0f} dB, about {} left{}",
               terminal ? "\r" : "", p.step, p.time * 1e9, 100.0 * p.fraction,
               p.energy_db, clock_text(p.seconds_left), terminal ? "   " : "\n");
    std::fflush(stderr);
  };
}

[[nodiscard]] double decibels(double ratio)
{
  return 10.0 * std::log10(ratio);
}

/// A power and its share of what the source delivers.
[[nodiscard]] std::string share(double power, double source)
{
  return fmt::format("{:11.4g} {:8.2f} dB", power, decibels(power / source));
}

void print_figures(const postproc::Result& result, const std::string& folder)
{
  fmt::print(
      "{}\n\nPowers per metre of slice for 1 A of line current [W/m], and relative to "
      "the "
      "power delivered\n\n",
      result.title);
  fmt::print("{:>12} {:>11} {:>23} {:>23} {:>23} {:>10}\n", "frequency", "delivered",
             "absorbed", "leaves the body", "radiated", "residual");
  for (const postproc::FrequencyResult& f : result.frequencies) {
    fmt::print("{:>8.6g} MHz {:11.4g} {:>23} {:>23} {:>23} {:10.1e}\n",
               f.frequency * 1e-6, f.source_power,
               share(f.absorbed_power, f.source_power),
               f.body_surface_power ? share(*f.body_surface_power, f.source_power) : "-",
               share(f.radiated_power, f.source_power), f.power_balance_residual);
  }
  fmt::print("\nAbsorbed by tissue [% of the power delivered]\n");
  for (const postproc::FrequencyResult& f : result.frequencies) {
    std::vector<std::pair<double, std::string>> order;
    for (const auto& [tissue, power] : f.absorbed_by_tissue) {
      order.emplace_back(-power, tissue);
    }
    std::sort(order.begin(), order.end());
    fmt::print("{:>8.6g} MHz ", f.frequency * 1e-6);
    for (std::size_t t = 0; t < std::min<std::size_t>(order.size(), 5); ++t) {
      fmt::print(" {} {:.2f}", order[t].second, -100.0 * order[t].first / f.source_power);
    }
    fmt::print("\n");
  }
  fmt::print(
      "\n{} steps of {:.3g} ps on {} x {} cells in {:.1f} s: {:.0f} million cell updates "
      "a second ({}, {} threads)\nstopped: {}\nresults in {}\n\n{}\n",
      result.grid.steps, result.grid.time_step * 1e12, result.grid.nx, result.grid.ny,
      result.run.wall_seconds, result.run.cell_updates_per_second * 1e-6,
      result.run.instruction_set, result.run.threads, result.run.stopped_because, folder,
      postproc::caution);
}

int run(const Options& options)
{
  const RunPlan plan = plan_run(scenarios::read_scenario(options.scenario));
  RunOptions how;
  how.folder = options.folder.empty()
                   ? std::filesystem::path(options.scenario).stem().string() + "-result"
                   : options.folder;
  how.force = options.force;
  how.threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  if (!options.quiet) {
    how.progress = progress_printer();
  }
  const postproc::Result result = run_scenario(plan, how);
  if (!options.quiet && ::isatty(STDERR_FILENO) != 0) {
    fmt::print(stderr, "\r{:90}\r", "");
  }
  if (options.json) {
    fmt::print("{}\n", postproc::summary_json(result));
  } else if (!options.quiet) {
    print_figures(result, how.folder.string());
  }
  return 0;
}

}  // namespace

void add_run_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "run", "Run one scenario and store fields, powers and pictures");
  auto options = std::make_shared<Options>();
  command->add_option("scenario", options->scenario, "scenario file (YAML)")->required();
  command->add_option("-o,--output", options->folder,
                      "folder of the results (default: <scenario>-result)");
  command->add_option("--threads", options->threads, "threads (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command->add_flag("--force", options->force, "replace an earlier result in the folder");
  command->add_flag("--quiet", options->quiet, "no progress, no table");
  command->add_flag("--json", options->json, "print summary.json instead of the table");
  command->footer(
      "example: torsowave run scenarios/abdomen-graft-sensor.yaml -o demo-output");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return run(*options); };
  });
}

}  // namespace torsowave::app
