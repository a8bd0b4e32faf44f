#include "app/check_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string_view>
#include <vector>

#include "app/label_report.hpp"
#include "app/text_table.hpp"

namespace torsowave::app {
namespace {

/// What the user wants to know of a tissue in the map.
struct TissueLine {
  std::string name;
  double area = 0.0;                 ///< [m^2]
  std::optional<Sampling> sampling;  ///< empty for a conductor
  const materials::FittedMedium* fit = nullptr;
  int poles = 0;
};

[[nodiscard]] std::vector<TissueLine> tissue_lines(const RunPlan& plan)
{
  const std::vector<double> areas = geometry::areas_by_tissue(plan.map);
  std::vector<TissueLine> lines;
  for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
    const materials::FittedMedium& medium = plan.fitted.media[t];
    TissueLine line{plan.tissues[t].name, areas[t], std::nullopt, &medium, 0};
    for (const Sampling& s : plan.sampling) {
      if (s.tissue == line.name) {
        line.sampling = s;
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

[[nodiscard]] std::string grid_text(const RunPlan& plan, const Price& price)
{
  const geometry::Raster& raster = plan.grid.raster;
  std::string text = fmt::format(
      "grid        {} x {} cells of {:.4g} mm: {:.1f} x {:.1f} mm, absorber {} cells\n",
      raster.nx, raster.ny, raster.cell * 1e3, raster.nx * raster.cell * 1e3,
      raster.ny * raster.cell * 1e3, plan.grid.absorbing_cells);
  text += fmt::format(
      "time step   {:.4g} ps, {}{} steps ({:.3g} ns), observed every {} steps\n",
      plan.grid.time_step * 1e12, plan.scenario.duration.time ? "" : "about ",
      price.steps, plan.expected_time * 1e9, plan.interval);
  text += fmt::format(
      "memory      {:.0f} MB (fields {:.0f}, phasors {:.0f}, maps {:.0f}), {:.0f} MB "
      "available\n",
      megabytes(plan.memory.total()), megabytes(plan.memory.fields),
      megabytes(plan.memory.phasors), megabytes(plan.memory.maps),
      megabytes(available_memory()));
  text += fmt::format(
      "wall time   about {:.0f} s with {} threads at {:.0f} million cell updates a "
      "second (measured now)\n",
      price.seconds, price.threads, price.rate * 1e-6);
  return text;
}

[[nodiscard]] std::string medium_text(const RunPlan& plan)
{
  std::string text = fmt::format(
      "Debye fit   {:.4g} to {:.4g} MHz, {} shared relaxation times [ps]:",
      plan.band_from * 1e-6, plan.band_to * 1e-6, plan.fitted.relaxation_times.size());
  for (const double tau : plan.fitted.relaxation_times) {
    text += fmt::format(" {:.4g}", tau * 1e12);
  }
  if (!plan.body) {
    return text + "\n";
  }
  return text + fmt::format("\nbody        {:.0f} cm2{}\n", plan.body->area * 1e4,
                            plan.surface ? ""
                                         : ", meets the absorber or comes close: no "
                                           "body-surface power");
}

[[nodiscard]] std::string tissue_text(const RunPlan& plan, std::size_t most_columns)
{
  TextTable table({{"tissue", "", Align::left},
                   {"area", "mm2"},
                   {"wavelength", "mm"},
                   {"cells per\nwavelength", ""},
                   {"fit error", "%"},
                   {"worst at", "MHz"}});
  for (const TissueLine& line : tissue_lines(plan)) {
    const bool conductor = line.fit->conductor;
    table.add_row(
        {line.name, fmt::format("{:.1f}", line.area * 1e6),
         line.sampling ? fmt::format("{:.2f}", line.sampling->wavelength * 1e3) : "-",
         line.sampling ? fmt::format("{:.1f}", line.sampling->cells) : "-",
         conductor ? "-" : fmt::format("{:.3f}", line.fit->max_relative_error * 100.0),
         conductor ? "-" : fmt::format("{:.4g}", line.fit->worst_frequency * 1e-6)});
  }
  return table.text(most_columns);
}

constexpr std::string_view letters =
    ".abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";

/// The slice in letters, one for each tissue; the implant is @.
[[nodiscard]] std::string slice_text(const RunPlan& plan)
{
  constexpr int columns = 72;
  const geometry::Raster& raster = plan.grid.raster;
  const int width = std::min(columns, raster.nx);
  const int height = std::max(1, width * raster.ny / raster.nx / 2);  // letters are tall
  std::string text;
  for (int row = 0; row < height; ++row) {
    const int j = raster.ny - 1 - (2 * row + 1) * raster.ny / (2 * height);
    for (int column = 0; column < width; ++column) {
      const int i = (2 * column + 1) * raster.nx / (2 * width);
      const std::size_t label = plan.map.labels[raster.at(i, j)];
      const bool implant = plan.scenario.implant &&
                           std::abs(i - plan.source_i) * 2 * width <= raster.nx &&
                           std::abs(j - plan.source_j) * 2 * height <= raster.ny;
      text += implant ? '@' : label < letters.size() ? letters[label] : '?';
    }
    text += '\n';
  }
  return text;
}

[[nodiscard]] std::string legend_text(const RunPlan& plan)
{
  std::string text;
  for (std::size_t t = 0; t < std::min(plan.tissues.size(), letters.size()); ++t) {
    text += fmt::format("{} {}{}", letters[t], plan.tissues[t].name,
                        t % 5 == 4 ? "\n" : "   ");
  }
  return text + (plan.scenario.implant ? "@ implant\n" : "\n");
}

}  // namespace

std::string check_text(const RunPlan& plan, const Price& price, std::size_t most_columns)
{
  return fmt::format("{}\n\n{}{}{}\n{}\n{}{}", plan.scenario.title,
                     grid_text(plan, price), medium_text(plan),
                     label_map_text(plan, most_columns), tissue_text(plan, most_columns),
                     slice_text(plan), legend_text(plan));
}

std::string check_json(const RunPlan& plan, const Price& price)
{
  nlohmann::ordered_json j;
  j["grid"] = {{"nx", plan.grid.raster.nx},
               {"ny", plan.grid.raster.ny},
               {"cell_m", plan.grid.raster.cell},
               {"dt_s", plan.grid.time_step},
               {"steps", price.steps}};
  j["memory_bytes"] = plan.memory.total();
  j["memory_available_bytes"] = available_memory();
  j["estimated_wall_s"] = price.seconds;
  j["cell_updates_per_s"] = price.rate;
  j["threads"] = price.threads;
  j["relaxation_times_s"] = plan.fitted.relaxation_times;
  if (plan.body) {
    j["body_area_mm2"] = plan.body->area * 1e6;
  }
  j["body_surface_power"] = plan.surface.has_value();
  if (plan.scenario.body.label_map) {
    j["label_map"] = nlohmann::ordered_json::parse(label_map_json(plan));
  }
  j["materials"] = nlohmann::ordered_json::array();
  for (const TissueLine& line : tissue_lines(plan)) {
    j["materials"].push_back({{"tissue", line.name},
                              {"area_mm2", line.area * 1e6},
                              {"cells_per_wavelength", nullptr},
                              {"fit_max_relative_error", line.fit->max_relative_error},
                              {"poles", line.poles}});
    if (line.sampling) {
      j["materials"].back()["cells_per_wavelength"] = line.sampling->cells;
    }
  }
  return j.dump(2) + "\n";
}

}  // namespace torsowave::app
