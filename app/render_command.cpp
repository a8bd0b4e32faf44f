#include "app/render_command.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <chrono>
#include <memory>
#include <system_error>

#include "app/clock_text.hpp"
#include "app/exit_codes.hpp"
#include "app/label_report.hpp"
#include "app/movie_file.hpp"
#include "app/progress_printer.hpp"
#include "app/render_options.hpp"
#include "app/stop_signal.hpp"
#include "app/terminal.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

/// A list of files as lines, or as JSON.
[[nodiscard]] std::string listing(const std::vector<fs::path>& files, bool json)
{
  std::string text;
  for (const fs::path& file : files) {
    if (!json) {
      text += file.string() + "\n";
      continue;
    }
    std::string name;
    for (const char c : file.string()) {
      name += c == '"' || c == '\\'                  ? std::string{'\\', c}
              : static_cast<unsigned char>(c) < 0x20 ? fmt::format("\\u{:04x}", c)
                                                     : std::string(1, c);
    }
    text += fmt::format("{}\n  \"{}\"", text.empty() ? "" : ",", name);
  }
  return json ? fmt::format("{{\"files\": [{}\n]}}\n", text) : text;
}

[[nodiscard]] bool is_file_name(const std::string& output)
{
  return output.ends_with(".png") || output.ends_with(".svg") || output.ends_with(".pdf");
}

void make_folder(const fs::path& folder)
{
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) {
    throw postproc::WriteError(
        fmt::format("cannot write {}: {}", folder.string(), error.message()));
  }
}

/// One picture under a name of the user's own.
std::vector<fs::path> draw_one(PictureOrder order, const postproc::Result& result,
                               const Moments& moments, const fs::path& output)
{
  order.curves_as = output.extension().string().substr(1);
  const std::vector<std::string> asked = picture_names(order, result, moments);
  if (asked.size() != 1) {
    scenarios::refuse(
        {output.string(), 0, 0},
        fmt::format("is one file for {} pictures; name a folder with -o, or "
                    "choose one with --quantity, --frequency and --time",
                    asked.size()));
  }
  if (!asked.front().ends_with(order.curves_as)) {
    scenarios::refuse({output.string(), 0, 0},
                      "SVG and PDF are for figures of lines (surface, far_field, curves "
                      "along a line or across layers); name it .png");
  }
  make_folder(output.has_parent_path() ? output.parent_path() : ".");
  draw_pictures(order, result, moments, [&](const std::string&) { return output; });
  return {output};
}

std::vector<fs::path> draw(const RenderOptions& options)
{
  const fs::path source = result_file_of(options.source);
  const postproc::Result result = postproc::read_result(source);
  const postproc::StoredSnapshots stored(source);
  const Moments moments = moments_of(options, result, stored);
  const PictureOrder order = picture_order(options, result, moments);
  if (is_file_name(options.output)) {
    return draw_one(order, result, moments, options.output);
  }
  const fs::path folder = options.output.empty() ? source.parent_path() / rendered_folder
                                                 : fs::path(options.output);
  make_folder(folder);
  std::vector<fs::path> files;
  for (const std::string& name :
       draw_pictures(order, result, moments,
                     [&](const std::string& file) { return folder / file; })) {
    files.push_back(folder / name);
  }
  return files;
}

/// Progress with time left: a line that renews itself, or one now and then in a log.
[[nodiscard]] FilmProgress film_progress()
{
  const auto begin = std::chrono::steady_clock::now();
  const bool terminal = ::isatty(STDERR_FILENO) != 0;
  return [begin, terminal, told = 0.0](std::size_t done, std::size_t all) mutable {
    const double passed =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    const double between = terminal ? 0.2 : 10.0;
    if (passed < told + between && done < all) {
      return;
    }
    if (!terminal && passed < between) {
      return;  // a short film says nothing in a log
    }
    told = passed;
    const double left =
        passed * static_cast<double>(all - done) / static_cast<double>(done);
    print_message(fmt::format("{}frame {} of {}, about {} left{}", terminal ? "\r" : "",
                              done, all, clock_text(left), terminal ? "   " : "\n"));
  };
}

/// A result with its snapshots open.
struct Stored {
  explicit Stored(const std::string& source)
      : result(postproc::read_result(result_file_of(source))),
        snapshots(result_file_of(source))
  {
  }
  postproc::Result result;
  postproc::StoredSnapshots snapshots;
};

std::vector<fs::path> animate(const RenderOptions& options)
{
  const fs::path output = options.animation;
  static_cast<void>(movie_format(output));
  require_ffmpeg();
  const Stored first(options.source);
  std::optional<Stored> second;
  std::vector<FilmSide> sides{{first.result, first.snapshots}};
  if (!options.beside.empty()) {
    second.emplace(options.beside);
    sides.push_back({second->result, second->snapshots});
  }
  const FilmOrder order = film_order(options, first.result);
  if (!output.parent_path().empty()) {
    make_folder(output.parent_path());
  }
  const StopSignal stop;
  const FilmFacts film =
      make_film(order, sides, output, options.quiet ? FilmProgress{} : film_progress());
  if (!options.quiet) {
    clear_progress();
  }
  if (!options.quiet && !options.json) {
    print_result(
        fmt::format("{}, scale to {:.4g} {}\n", film_text(film), film.range, film.units));
  }
  return {output};
}

[[nodiscard]] std::vector<fs::path> write_labels(const RenderOptions& options)
{
  const postproc::Result result = postproc::read_result(result_file_of(options.source));
  return export_label_map(result, options.labels);
}

int render(const RenderOptions& options)
{
  const std::vector<fs::path> files = !options.labels.empty()     ? write_labels(options)
                                      : options.animation.empty() ? draw(options)
                                                                  : animate(options);
  if (options.json || !options.quiet) {
    print_result(listing(files, options.json));
  }
  return exit_done;
}

void add_picture_options(CLI::App& command, RenderOptions& options)
{
  command.add_option("result", options.source, "result folder of \"torsowave run\"")
      ->required();
  command
      .add_option("--quantity", options.quantities,
                  "what to draw: tissue, a field (Ez ...), snapshot, sar, surface, "
                  "surface_ring, far_field, power_flow, spacetime (default: all that the "
                  "result holds)")
      ->expected(1, 20);
  command
      .add_option("--frequency", options.frequencies,
                  "frequencies, e.g. 915MHz (default: all)")
      ->expected(1, 1000);
  command
      .add_option("--time", options.times,
                  "moments of snapshots, e.g. 2.5ns (default: those that the run chose)")
      ->expected(1, 1000);
  command
      .add_option("--scale", options.scale,
                  "dB, linear or phase (default: dB; phase is of fields)")
      ->check(CLI::IsMember({"dB", "linear", "phase"}));
  command
      .add_option("--along", options.along,
                  "slices: curves along a line parallel to x or y, through the implant")
      ->check(CLI::IsMember({"x", "y"}));
  command.add_option("--at", options.at, "where that line lies instead, e.g. \"12 mm\"");
  command.add_option("--theme", options.theme, "light or dark (default: light)")
      ->check(CLI::IsMember({"light", "dark"}));
  command
      .add_option("--size", options.size,
                  "slide (1920 px wide), print (180 mm at 300 dpi) or thumbnail (the map "
                  "alone, 320 px)")
      ->check(CLI::IsMember({"slide", "print", "thumbnail"}));
  command.add_option("--width", options.width, "any other width [px]")
      ->check(CLI::Range(64, 8192));
  command
      .add_option("--format", options.format,
                  "of figures of lines: png, svg or pdf; maps are PNG (default: png)")
      ->check(CLI::IsMember({"png", "svg", "pdf"}));
  command.add_option("-o,--output", options.output,
                     "folder, or the file of a single picture (default: DIR/pictures)");
}

void add_film_options(CLI::App& command, RenderOptions& options)
{
  const std::string group = "Animation";
  CLI::Option* const animation =
      command
          .add_option("--animation", options.animation,
                      "make a film of this name instead: .mp4, .webp or .gif; of the "
                      "snapshots, or of a field (--quantity Ez) as a steady oscillation")
          ->group(group);
  command
      .add_option("--fps", options.frames_per_second, "frames in a second (default: 25)")
      ->check(CLI::Range(0.1, 240.0))
      ->needs(animation)
      ->group(group);
  command
      .add_option("--length", options.length,
                  "of the film, e.g. \"12 s\" (default: a frame for each moment; 2 s a "
                  "cycle)")
      ->needs(animation)
      ->group(group);
  command.add_option("--from", options.from, "first moment of the run, e.g. 1ns")
      ->needs(animation)
      ->group(group);
  command
      .add_option("--to", options.to,
                  "last moment of the run (default: while there is something to see)")
      ->needs(animation)
      ->group(group);
  command
      .add_option("--slow", options.slow,
                  "FROM TO FACTOR: that stretch of the run FACTOR times slower")
      ->expected(3)
      ->needs(animation)
      ->group(group);
  command.add_option("--cycles", options.cycles, "of a steady oscillation (default: 1)")
      ->check(CLI::Range(1, 1000))
      ->needs(animation)
      ->group(group);
  command
      .add_option("--range", options.range,
                  "largest value of the scale, in the field's unit (default: by the "
                  "field)")
      ->check(CLI::PositiveNumber)
      ->needs(animation)
      ->group(group);
  command
      .add_option("--beside", options.beside,
                  "a second result at its right, at the same moments and on the same "
                  "scale")
      ->needs(animation)
      ->group(group);
}

}  // namespace

void add_render_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "render", "Draw pictures and animations from a stored result");
  auto options = std::make_shared<RenderOptions>();
  add_picture_options(*command, *options);
  add_film_options(*command, *options);
  command->add_option(
      "--export-labels", options->labels,
      "write the tissue of each cell as a label map (.nii, .nii.gz, .png) "
      "and its table (.csv), and draw nothing");
  command->add_flag("--quiet", options->quiet, "no progress, no list of files");
  command->add_flag("--json", options->json, "print the list of files as JSON");
  command->footer(
      "examples:\n"
      "  torsowave render demo-output --quantity Ez,sar --frequency 915MHz --size print\n"
      "  torsowave render demo-output --quantity far_field --size print --format pdf\n"
      "  torsowave render demo-output --animation wave.mp4 --slow 0ns 2ns 3\n"
      "  torsowave render demo-output --quantity Ez --frequency 2.45GHz --animation "
      "loop.webp");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return render(*options); };
  });
}

}  // namespace torsowave::app
