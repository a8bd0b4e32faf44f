#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "app/check_command.hpp"
#include "app/command.hpp"
#include "app/compare_command.hpp"
#include "app/failure.hpp"
#include "app/link_command.hpp"
#include "app/render_command.hpp"
#include "app/report_command.hpp"
#include "app/run_command.hpp"
#include "app/slab_command.hpp"
#include "app/sweep_command.hpp"
#include "app/terminal.hpp"
#include "app/tissue_command.hpp"
#include "postproc/version.hpp"
#include "scenarios/message_text.hpp"

namespace torsowave::app {
namespace {

void describe(CLI::App& program)
{
  program.set_version_flag(
      "--version", fmt::format("torsowave {} (revision {})", postproc::tool_version(),
                               postproc::tool_revision()));
  program.require_subcommand(1);
  program.footer(
      "examples:\n"
      "  torsowave tissue muscle --frequency \"2.45 GHz\"\n"
      "  torsowave check scenario.yaml\n"
      "  torsowave run scenario.yaml -o results\n"
      "  torsowave slab layers.yaml --angle 0,30,60\n"
      "  torsowave compare layers.yaml\n"
      "  torsowave render results --animation wave.mp4\n"
      "  torsowave link scenario.yaml\n"
      "  torsowave report results\n"
      "  torsowave sweep variants.yaml -o night\n\n"
      "\"torsowave COMMAND --help\" tells more. Results are planning and teaching "
      "estimates, not\ncompliance or clinical results; local codes and licensed practice "
      "decide.");
}

std::vector<std::string> command_names(const CLI::App& program)
{
  std::vector<std::string> names;
  for (const CLI::App* command : program.get_subcommands({})) {
    names.push_back(command->get_name());
  }
  return names;
}

/// The parser's own message would not tell what is accepted.
/// \throws CLI::ValidationError  The first word is missing, or no command and no option.
void require_known_command(const CLI::App& program, int argc, char** argv)
{
  const std::vector<std::string> names = command_names(program);
  const std::string word = argc > 1 ? argv[1] : "";
  const bool known = std::ranges::find(names, word) != names.end();
  if (!known && !word.starts_with('-')) {
    const std::string problem =
        word.empty() ? "no command is given"
                     : fmt::format("{} is no command{}", scenarios::in_quotes(word),
                                   scenarios::hint(word, names));
    throw CLI::ValidationError(
        fmt::format("{}; commands: {}; \"torsowave --help\" tells more", problem,
                    scenarios::listed(names)));
  }
}

int run(int argc, char** argv)
{
  CLI::App program{"Radio link of an implant in the torso: full-wave and analytic",
                   "torsowave"};
  Action chosen;
  describe(program);
  const Commands commands{program, chosen};
  add_tissue_command(commands);
  add_check_command(commands);
  add_run_command(commands);
  add_slab_command(commands);
  add_compare_command(commands);
  add_render_command(commands);
  add_link_command(commands);
  add_report_command(commands);
  add_sweep_command(commands);
  try {
    require_known_command(program, argc, argv);
    program.parse(argc, argv);
    const int code = chosen();
    flush_results();
    return code;
  } catch (const CLI::Success& asked) {
    return program.exit(asked);
  }
}

}  // namespace
}  // namespace torsowave::app

int main(int argc, char** argv)
{
  torsowave::app::tell_failed_writes();
  try {
    return torsowave::app::run(argc, argv);
  } catch (...) {
    return torsowave::app::explain_failure();
  }
}
