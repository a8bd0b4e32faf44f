#include "app/link_command.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <limits>
#include <memory>

#include "app/coverage_run.hpp"
#include "app/exit_codes.hpp"
#include "app/link_case.hpp"
#include "app/link_report.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "app/text_table.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/vector_figure.hpp"

namespace torsowave::app {
namespace {

void store(const LinkStudy& study, const std::filesystem::path& target)
{
  StagedFolder folder(target);
  postproc::write_atomically(folder.path("link.json"), link_json(study));
  postproc::write_atomically(folder.path("link.csv"), link_csv(study));
  postproc::write_figure(postproc::polar_picture(link_figure(study)),
                         folder.path("link.png"), {});
  folder.commit();
}

void print(const LinkOptions& options, const LinkStudy& study)
{
  constexpr std::size_t readable = 100;
  const std::size_t columns =
      result_columns().value_or(std::numeric_limits<std::size_t>::max());
  const std::size_t prose = std::min(columns, readable);
  if (options.json) {
    print_result(link_json(study));
    return;
  }
  if (study.lines_of) {
    print_result(link_lines(study, *study.lines_of, columns));
    print_result(std::string(postproc::link_caution) + "\n");
    return;
  }
  print_result(link_text(study, prose) + "\n");
  if (!options.quiet) {
    print_result(link_notes(study, prose));
  }
  print_result(wrapped(postproc::link_caution, 0, prose));
  if (!options.quiet && !options.folder.empty()) {
    print_result(fmt::format("link.json, link.csv, link.png in {}\n", options.folder));
  }
}

int link(const LinkOptions& options)
{
  if (options.coverage) {
    return run_coverage(options);
  }
  const LinkStudy study = study_of(options, link_case(options));
  if (!options.folder.empty()) {
    store(study, options.folder);
  }
  if (!options.csv.empty()) {
    postproc::write_atomically(options.csv, link_csv(study));
  }
  print(options, study);
  return exit_done;
}

void add_coverage_options(CLI::App& command, LinkOptions& options)
{
  CLI::Option* coverage = command.add_flag(
      "--coverage", options.coverage,
      "instead: where in the body the link would close, one run for each direction of a "
      "reader (default: the scenario's, or all four sides); -o keeps coverage.h5, "
      "coverage.csv and pictures");
  for (const char* other : {"--json", "--csv", "--lines"}) {
    coverage->excludes(other);
  }
  command
      .add_flag("--verify", options.verify,
                "compare the coverage with direct runs at ten places")
      ->needs(coverage);
}

void add_options(CLI::App& command, LinkOptions& options)
{
  command
      .add_option("input", options.input,
                  "scenario file (YAML), which is run first, or the folder of a result")
      ->required();
  command
      .add_option("--scenario", options.link_file,
                  "take the section \"link\" of this file; the fields stay")
      ->type_name("FILE");
  command
      .add_option("--distance", options.distance,
                  "of the reader from the origin, e.g. 0.5m (default: the scenario's)")
      ->type_name("D");
  command
      .add_option("--direction", options.direction,
                  "of the reader, e.g. 90deg (front), or best (default: the scenario's); "
                  "with --coverage several, e.g. 90deg,270deg")
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
                  "folder for link.json, link.csv, link.png, and the results of the run "
                  "(default: nothing is kept)")
      ->type_name("DIR");
  command.add_option("--threads", options.threads, "threads (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command.add_flag("--force", options.force, "replace an earlier result in the folder");
  command.add_flag("--json", options.json,
                   "JSON in SI units and dB instead of the table");
  command.add_flag("--quiet", options.quiet, "no progress; tables and caution alone");
  add_coverage_options(command, options);
}

}  // namespace

void add_link_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "link", "Link budget between implant and reader, both ways, in all directions");
  const auto options = std::make_shared<LinkOptions>();
  add_options(*command, *options);
  command->footer(
      "examples:\n"
      "  torsowave link scenarios/abdomen-graft-sensor.yaml\n"
      "  torsowave link demo-output --distance 0.5m --direction 90deg -o demo-output\n"
      "  torsowave link demo-output --lines 403.5MHz\n"
      "  torsowave link demo-output --coverage --direction 90deg -o covered\n\n"
      "The scenario's section \"link\" holds the reader, the modulation and the rest.");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return link(*options); };
  });
}

}  // namespace torsowave::app
