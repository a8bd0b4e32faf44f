#include "app/slab_command.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <limits>
#include <memory>

#include "app/earlier_outputs.hpp"
#include "app/exit_codes.hpp"
#include "app/slab_model.hpp"
#include "app/slab_options.hpp"
#include "app/slab_report.hpp"
#include "app/staged_folder.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

using postproc::SlabResult;
using postproc::SlabSource;

constexpr std::size_t most_pictures = 12;  ///< of one kind
constexpr std::size_t fewest_angles = 5;   ///< for a curve over the angle

void require_layers(const scenarios::Scenario& scenario)
{
  if (scenario.mode != scenarios::Mode::one_d) {
    throw scenarios::InputError(
        {{scenario.where("mode"), "mode",
          "\"slab\" answers for planar layers; write mode: 1D with body.layers"}});
  }
}

/// At most so many numbers below `count`, first and last among them, evenly.
[[nodiscard]] std::vector<std::size_t> chosen(std::size_t count, std::size_t most)
{
  std::vector<std::size_t> numbers;
  const std::size_t kept = std::min(count, most);
  for (std::size_t i = 0; i < kept; ++i) {
    numbers.push_back(kept == 1 ? 0 : i * (count - 1) / (kept - 1));
  }
  return numbers;
}

[[nodiscard]] std::string megahertz(double frequency)
{
  return fmt::format("{:.6g}MHz", 1e-6 * frequency);
}

/// "", "_30deg_TE": nothing where there is but one.
[[nodiscard]] std::string incidence_suffix(const SlabResult& result, std::size_t p,
                                           std::size_t a)
{
  if (result.angles_deg.size() == 1 && result.angles_deg[a] == 0.0) {
    return "";
  }
  const std::string angle = fmt::format("_{:.6g}deg", result.angles_deg[a]);
  return result.angles_deg[a] == 0.0 ? angle : angle + "_" + result.polarisations[p];
}

/// At normal incidence the second polarisation would repeat the first.
[[nodiscard]] std::size_t polarisations_at(const SlabResult& result, double angle_deg)
{
  return angle_deg == 0.0 ? 1 : result.polarisations.size();
}

void draw_pictures(const SlabResult& result, const StagedFolder& folder)
{
  for (const std::size_t a : chosen(result.angles_deg.size(), most_pictures)) {
    const std::size_t count = polarisations_at(result, result.angles_deg[a]);
    for (std::size_t p = 0; p < count && result.frequencies.size() > 1; ++p) {
      const std::string name = "spectrum" + incidence_suffix(result, p, a) + ".png";
      postproc::draw_slab_spectrum(result, p, a, folder.path(name));
    }
  }
  for (const std::size_t f : chosen(result.frequencies.size(), most_pictures)) {
    const std::string at = megahertz(result.frequencies[f]);
    postproc::draw_slab_profile(result, f, folder.path("profile_" + at + ".png"));
    for (std::size_t p = 0;
         p < result.polarisations.size() && result.angles_deg.size() >= fewest_angles;
         ++p) {
      const std::string name = "angles_" + at + "_" + result.polarisations[p] + ".png";
      postproc::draw_slab_angles(result, p, f, folder.path(name));
    }
  }
}

[[nodiscard]] bool is_picture_name(const std::string& name)
{
  return name.ends_with(".png") &&
         (name.starts_with("spectrum") || name.starts_with("profile_") ||
          name.starts_with("angles_"));
}

void store(const SlabResult& result, const SlabOptions& options)
{
  const std::filesystem::path target = options.folder;
  StagedFolder folder(target);
  postproc::write_slab_file(result, folder.path("slab.h5"));
  postproc::write_atomically(folder.path("slab.csv"), slab_csv(result));
  draw_pictures(result, folder);
  remove_earlier(target, "slab.h5", is_picture_name);
  folder.commit();
}

int solve(const SlabOptions& options)
{
  const scenarios::Scenario scenario = scenarios::read_scenario(options.scenario);
  require_layers(scenario);
  const SlabRequest request = slab_request(options, scenario);
  if (!options.force) {
    refuse_to_replace(options.folder, "slab.h5", "an answer for layers");
  }
  const bool fit = request.models.back() == MediaModel::debye;
  const StackMedia media(scenario, request.frequencies, fit);
  const SlabResult result = solve_slab(scenario, media, request);
  if (!options.folder.empty()) {
    store(result, options);
  }
  if (!options.csv.empty()) {
    postproc::write_atomically(options.csv, slab_csv(result));
  }
  if (options.json) {
    print_result(slab_json(result, media.fit_error()));
    return exit_done;
  }
  constexpr std::size_t readable = 100;
  const std::size_t columns =
      result_columns().value_or(std::numeric_limits<std::size_t>::max());
  print_result(slab_text(result, columns));
  if (!options.quiet) {
    print_result("\n" +
                 slab_notes(result, media.fit_error(), std::min(columns, readable)));
    print_result(options.folder.empty() ? ""
                                        : fmt::format("answer in {}\n", options.folder));
  }
  return exit_done;
}

void add_options(CLI::App& command, SlabOptions& options)
{
  command.add_option("scenario", options.scenario, "scenario file (YAML) of mode 1D")
      ->required();
  command
      .add_option("--angle", options.angle,
                  "angles of incidence in degrees: 0,30,60 or from:to:step (default: 0)")
      ->type_name("A");
  command.add_option("--polarisation", options.polarisation, "TE, TM or both (default)")
      ->check(CLI::IsMember({"TE", "TM", "both"}))
      ->type_name("P");
  command
      .add_option("--media", options.media,
                  "cole-cole (default), debye (the fit that a run uses) or both, with "
                  "the difference")
      ->check(CLI::IsMember({"cole-cole", "debye", "both"}))
      ->type_name("M");
  command
      .add_option("--frequency", options.frequencies,
                  "one or more, with unit (default: those of the scenario)")
      ->type_name("F");
  command
      .add_option("--loss", options.loss,
                  "also the depth at which the power flux has fallen so far below the "
                  "incident power, e.g. 20dB")
      ->type_name("L");
  command
      .add_option("--csv", options.csv, "write the table to this file, full precision")
      ->type_name("FILE");
  command
      .add_option("-o,--output", options.folder,
                  "folder for slab.csv, slab.h5 and pictures (default: none)")
      ->type_name("DIR");
  command.add_flag("--force", options.force, "replace an earlier answer in the folder");
  command.add_flag("--json", options.json, "JSON in SI units instead of the table");
  command.add_flag("--quiet", options.quiet, "tables alone, without notes and caution");
}

}  // namespace

void add_slab_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "slab", "Exact answer for planar layers: reflected, absorbed, passed on");
  const auto options = std::make_shared<SlabOptions>();
  add_options(*command, *options);
  command->footer(
      "examples:\n"
      "  torsowave slab scenarios/skin-fat-muscle.yaml\n"
      "  torsowave slab scenarios/skin-fat-muscle.yaml --angle 0:80:20 --loss 20dB "
      "--frequency 2.45GHz\n"
      "  torsowave slab scenarios/skin-fat-muscle.yaml --media both -o slab-answer");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return solve(*options); };
  });
}

}  // namespace torsowave::app
