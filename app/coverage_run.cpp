#include "app/coverage_run.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>

#include "app/coverage_report.hpp"
#include "app/earlier_outputs.hpp"
#include "app/exit_codes.hpp"
#include "app/link_coverage.hpp"
#include "app/progress_printer.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"

namespace torsowave::app {
namespace {

using postproc::CoverageResult;

constexpr std::size_t most_pictures = 12;

void draw_pictures(const CoverageResult& result, const StagedFolder& folder)
{
  std::size_t drawn = 0;
  for (std::size_t f = 0; f < result.joint.size() && drawn < most_pictures; ++f) {
    postproc::draw_joint_coverage(
        result, f,
        folder.path(fmt::format("coverage_{:.6g}MHz.png", 1e-6 * result.frequencies[f])));
    ++drawn;
  }
  for (std::size_t m = 0; m < result.maps.size() && drawn < most_pictures; ++m) {
    const postproc::CoverageMap& map = result.maps[m];
    postproc::draw_coverage(
        result, m,
        folder.path(fmt::format("coverage_{:.6g}MHz_{:.0f}deg.png", 1e-6 * map.frequency,
                                result.directions[map.direction].angle_deg)));
    ++drawn;
  }
}

void store(const CoverageResult& result, StagedFolder& folder,
           const std::filesystem::path& target)
{
  postproc::write_coverage_file(result, folder.path("coverage.h5"));
  postproc::write_atomically(folder.path("coverage.csv"), coverage_csv(result));
  draw_pictures(result, folder);
  remove_earlier(target, "coverage.h5", png_named("coverage_"));
  folder.commit();
}

/// \param before  runs that are over
/// \param all     runs of the whole command
[[nodiscard]] RunOptions run_options(const LinkOptions& options, std::size_t before,
                                     std::size_t all)
{
  RunOptions how;
  how.sar = false;
  how.threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  if (!options.quiet) {
    how.progress = [print = progress_printer(), before, all](Progress progress) {
      progress.run += static_cast<int>(before);
      progress.runs = static_cast<int>(all);
      print(progress);
    };
  }
  return how;
}

/// Ten places; in TMz three of them at interfaces. In TEz a run with a dipole there has
/// other media about it than the map (docs/coverage.md).
[[nodiscard]] PlaceCounts check_counts(const RunPlan& plan)
{
  return plan.is_tez() ? PlaceCounts{10, 0} : PlaceCounts{7, 3};
}

/// The maps, with the link of the plan's scenario.
[[nodiscard]] CoverageRequest request_of(const LinkOptions& options,
                                         const CoverageInput& input)
{
  CoverageRequest request;
  request.directions = input.directions;
  request.link = "implant to reader with fading";
  request.checks = options.verify ? check_counts(input.plan) : PlaceCounts{};
  request.margin_at_0_dbi = [&options, &input](double frequency, double direction) {
    return postproc::link_budget(unity_link(options, input.plan, frequency, direction),
                                 postproc::LinkDirection::implant_to_reader)
        .faded.margin_db;
  };
  // What no link can be is refused before anything runs.
  for (const double direction : input.directions) {
    for (const double frequency : input.plan.scenario.frequencies) {
      static_cast<void>(request.margin_at_0_dbi(frequency, direction));
    }
  }
  return request;
}

void print(const LinkOptions& options, const LinkCoverage& coverage,
           const std::vector<CoverageCheck>& checks)
{
  constexpr std::size_t readable = 100;
  const std::size_t columns = std::min(readable, result_columns().value_or(readable));
  print_result(coverage_text(coverage.result, columns));
  if (options.verify) {
    print_result('\n' + check_text(coverage, checks, columns));
  }
  print_result('\n' + coverage_notes(coverage.result, columns, options.quiet));
  if (!options.quiet) {
    print_result(
        options.folder.empty() ? "" : fmt::format("coverage in {}\n", options.folder));
  }
}

}  // namespace

int run_coverage(const LinkOptions& options)
{
  if (!options.force) {
    refuse_to_replace(options.folder, "coverage.h5", "a coverage");
  }
  const CoverageInput input = coverage_input(options);
  const CoverageRequest request = request_of(options, input);
  std::optional<StagedFolder> folder;  // an unwritable place fails before the runs
  if (!options.folder.empty()) {
    folder.emplace(options.folder);
  }
  const std::size_t maps = request.directions.size();
  const std::size_t all = maps + static_cast<std::size_t>(request.checks.inside +
                                                          request.checks.at_interfaces);
  const LinkCoverage coverage = cover(input.plan, request, run_options(options, 0, all));
  std::vector<CoverageCheck> checks;
  if (options.verify) {
    checks = check_coverage(coverage, input.plan, run_options(options, maps, all));
  }
  if (!options.quiet) {
    clear_progress();
  }
  if (folder) {
    store(coverage.result, *folder, options.folder);
  }
  print(options, coverage, checks);
  return agrees(checks) ? exit_done : exit_fault;
}

}  // namespace torsowave::app
