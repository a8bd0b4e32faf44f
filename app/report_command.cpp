#include "app/report_command.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <system_error>

#include "app/exit_codes.hpp"
#include "app/report_page.hpp"
#include "app/report_result.hpp"
#include "app/report_sweep.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

struct ReportOptions {
  std::string folder;
  std::string output;
  bool quiet = false;
  bool json = false;
};

/// \throws scenarios::InputError  There is neither a result nor a sweep.
[[nodiscard]] nlohmann::ordered_json page_of(const ReportOptions& options)
{
  const fs::path folder = options.folder;
  std::error_code ignored;
  if (!fs::is_directory(folder, ignored)) {
    scenarios::refuse({options.folder, 0, 0},
                      "is no folder; give the one that \"torsowave run\" or \"torsowave "
                      "sweep\" wrote with -o");
  }
  if (fs::exists(folder / "result.h5", ignored)) {
    return result_page(folder);
  }
  if (holds_sweep(folder)) {
    return sweep_page(folder);
  }
  scenarios::refuse(
      {options.folder, 0, 0},
      "holds neither a result (result.h5) nor a sweep (sweep.yaml); make one "
      "with \"torsowave run\" or \"torsowave sweep\"");
}

int report(const ReportOptions& options)
{
  const fs::path target = options.output.empty()
                              ? fs::path(options.folder) / "report.html"
                              : fs::path(options.output);
  if (fs::is_directory(target)) {
    scenarios::refuse({options.output, 0, 0}, "is a folder; name the file, e.g. -o " +
                                                  (target / "report.html").string());
  }
  const std::string page = report_page(page_of(options));
  const MadeFolder folder(target.has_parent_path() ? target.parent_path() : ".");
  postproc::write_atomically(target, page);
  if (options.json) {
    print_result(
        nlohmann::ordered_json{{"report", target.string()}, {"bytes", page.size()}}.dump(
            2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) +
        "\n");
  } else if (!options.quiet) {
    print_result(fmt::format("{}: {:.1f} MB, opens in any browser without a network\n",
                             target.string(), 1e-6 * static_cast<double>(page.size())));
  }
  return exit_done;
}

}  // namespace

void add_report_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "report", "Make one HTML page of a result or a sweep, to read, print and pass on");
  auto options = std::make_shared<ReportOptions>();
  command
      ->add_option("folder", options->folder,
                   "folder of a result (\"torsowave run\") or of a sweep")
      ->required();
  command
      ->add_option("-o,--output", options->output, "the page (default: DIR/report.html)")
      ->type_name("FILE");
  command->add_flag("--quiet", options->quiet, "print nothing");
  command->add_flag("--json", options->json, "print name and size of the page as JSON");
  command->footer(
      "examples:\n"
      "  torsowave report demo-output\n"
      "  torsowave report night -o night.html\n\n"
      "The page holds all that it shows: pictures, animation, charts, tables, scenario. "
      "Planning and\nteaching estimates, not compliance or clinical results.");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return report(*options); };
  });
}

}  // namespace torsowave::app
