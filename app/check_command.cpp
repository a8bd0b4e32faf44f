#include "app/check_command.hpp"

#include <fmt/format.h>
#include <omp.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "app/price.hpp"
#include "app/run_plan.hpp"
#include "app/text_table.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

struct Options {
  std::string scenario;
  int threads = 0;
  bool json = false;
};

struct Price {
  double rate = 0.0;   ///< cell updates per second
  double steps = 0.0;  ///< estimated for automatic durations
  double seconds = 0.0;
};

[[nodiscard]] Price price_of(const RunPlan& plan, int threads)
{
  Price price;
  price.rate = measured_rate(plan, threads);
  price.steps = std::ceil(plan.expected_time / plan.grid.time_step);
  price.seconds = price.steps * static_cast<double>(plan.grid.raster.size()) / price.rate;
  return price;
}

/// Tissues that the map holds, with what the user wants to know of each.
struct TissueLine {
  std::string name;
  double area = 0.0;   ///< [m^2]
  double cells = 0.0;  ///< per wavelength; 0 for a conductor
  double wavelength = 0.0;
  double error = 0.0;
  double worst_frequency = 0.0;
  int poles = 0;
};

[[nodiscard]] std::vector<TissueLine> tissue_lines(const RunPlan& plan)
{
  const std::vector<double> areas = geometry::areas_by_tissue(plan.map);
  std::vector<TissueLine> lines;
  for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
    const materials::FittedMedium& medium = plan.fitted.media[t];
    TissueLine line{plan.tissues[t].name,   areas[t], 0.0, 0.0, medium.max_relative_error,
                    medium.worst_frequency, 0};
    for (const Sampling& s : plan.sampling) {
      if (s.tissue == line.name) {
        line.cells = s.cells;
        line.wavelength = s.wavelength;
      }
    }
    line.poles =
        static_cast<int>(std::count_if(medium.strengths.begin(), medium.strengths.end(),
                                       [](double s) { return s > 0.0; }));
    lines.push_back(line);
  }
  return lines;
}

[[nodiscard]] double megabytes(std::uint64_t bytes)
{
  return static_cast<double>(bytes) * 1e-6;
}

void print_grid(const RunPlan& plan, const Price& price, int threads)
{
  const geometry::Raster& raster = plan.grid.raster;
  fmt::print("{}\n\n", plan.scenario.title);
  fmt::print(
      "grid        {} x {} cells of {:.4g} mm: {:.1f} x {:.1f} mm, absorber {} cells\n",
      raster.nx, raster.ny, raster.cell * 1e3, raster.nx * raster.cell * 1e3,
      raster.ny * raster.cell * 1e3, plan.grid.absorbing_cells);
  fmt::print(
      "time step   {:.4g} ps, {} {:.0f} steps ({:.3g} ns), observed every {} steps\n",
      plan.grid.time_step * 1e12, plan.scenario.duration.time ? "" : "about", price.steps,
      plan.expected_time * 1e9, plan.interval);
  fmt::print(
      "memory      {:.0f} MB (fields {:.0f}, phasors {:.0f}, maps {:.0f}), {:.0f} MB "
      "available\n",
      megabytes(plan.memory.total()), megabytes(plan.memory.fields),
      megabytes(plan.memory.phasors), megabytes(plan.memory.maps),
      megabytes(available_memory()));
  fmt::print(
      "wall time   about {:.0f} s with {} threads at {:.0f} million cell updates a "
      "second "
      "(measured now)\n",
      price.seconds, threads, price.rate * 1e-6);
  fmt::print("Debye fit   {:.4g} to {:.4g} MHz, {} shared relaxation times [ps]:",
             plan.band_from * 1e-6, plan.band_to * 1e-6,
             plan.fitted.relaxation_times.size());
  for (const double tau : plan.fitted.relaxation_times) {
    fmt::print(" {:.4g}", tau * 1e12);
  }
  fmt::print(
      "\nbody        {:.0f} cm2{}\n\n", plan.body.area * 1e4,
      plan.surface ? "" : ", meets the absorber or comes close: no body-surface power");
}

void print_tissues(const RunPlan& plan)
{
  fmt::print("{:<28} {:>11} {:>15} {:>11} {:>8} {:>10}\n", "tissue", "area [mm2]",
             "wavelength [mm]", "cells/wave", "fit [%]", "at [MHz]");
  for (const TissueLine& line : tissue_lines(plan)) {
    fmt::print("{:<28} {:>11.1f} {:>15.2f} {:>11.1f} {:>8.3f} {:>10.4g}\n", line.name,
               line.area * 1e6, line.wavelength * 1e3, line.cells, line.error * 100.0,
               line.worst_frequency * 1e-6);
  }
}

/// The slice in letters, one for each tissue; the implant is @.
void print_slice(const RunPlan& plan)
{
  constexpr int columns = 72;
  constexpr std::string_view letters =
      ".abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
  const geometry::Raster& raster = plan.grid.raster;
  const int width = std::min(columns, raster.nx);
  const int height = std::max(1, width * raster.ny / raster.nx / 2);  // letters are tall
  for (int row = 0; row < height; ++row) {
    std::string text;
    const int j = raster.ny - 1 - (2 * row + 1) * raster.ny / (2 * height);
    for (int column = 0; column < width; ++column) {
      const int i = (2 * column + 1) * raster.nx / (2 * width);
      const std::size_t label = plan.map.labels[raster.at(i, j)];
      const bool implant = std::abs(i - plan.source_i) * 2 * width <= raster.nx &&
                           std::abs(j - plan.source_j) * 2 * height <= raster.ny;
      text += implant ? '@' : label < letters.size() ? letters[label] : '?';
    }
    fmt::print("{}\n", text);
  }
  for (std::size_t t = 0; t < std::min(plan.tissues.size(), letters.size()); ++t) {
    fmt::print("{} {}{}", letters[t], plan.tissues[t].name, t % 5 == 4 ? "\n" : "   ");
  }
  fmt::print("@ implant\n");
}

void print_json(const RunPlan& plan, const Price& price, int threads)
{
  nlohmann::ordered_json j;
  j["grid"] = {{"nx", plan.grid.raster.nx},
               {"ny", plan.grid.raster.ny},
               {"cell_m", plan.grid.raster.cell},
               {"dt_s", plan.grid.time_step},
               {"steps", price.steps}};
  j["memory_bytes"] = plan.memory.total();
  j["estimated_wall_s"] = price.seconds;
  j["cell_updates_per_s"] = price.rate;
  j["threads"] = threads;
  j["relaxation_times_s"] = plan.fitted.relaxation_times;
  j["materials"] = nlohmann::ordered_json::array();
  for (const TissueLine& line : tissue_lines(plan)) {
    j["materials"].push_back({{"tissue", line.name},
                              {"area_mm2", line.area * 1e6},
                              {"cells_per_wavelength", line.cells},
                              {"fit_max_relative_error", line.error},
                              {"poles", line.poles}});
  }
  fmt::print("{}\n", j.dump(2));
}

int check(const Options& options)
{
  const RunPlan plan = plan_run(scenarios::read_scenario(options.scenario));
  const int threads = options.threads > 0 ? options.threads : omp_get_max_threads();
  const Price price = price_of(plan, threads);
  if (options.json) {
    print_json(plan, price, threads);
    return 0;
  }
  print_grid(plan, price, threads);
  print_tissues(plan);
  fmt::print("\n");
  print_slice(plan);
  return 0;
}

}  // namespace

void add_check_command(const Commands& commands)
{
  CLI::App* command = commands.program.add_subcommand(
      "check", "Validate a scenario and tell what a run of it would cost");
  auto options = std::make_shared<Options>();
  command->add_option("scenario", options->scenario, "scenario file (YAML)")->required();
  command
      ->add_option("--threads", options->threads, "threads to price (default: all cores)")
      ->check(CLI::Range(1, 1024));
  command->add_flag("--json", options->json, "machine-readable output");
  command->footer("example: torsowave check scenarios/abdomen-graft-sensor.yaml");
  command->callback([options, &chosen = commands.chosen] {
    chosen = [options] { return check(*options); };
  });
}

}  // namespace torsowave::app
