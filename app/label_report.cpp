#include "app/label_report.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <system_error>

#include "app/text_table.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/label_export.hpp"
#include "scenarios/message_text.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t largest_copy = 64U << 20U;  // [bytes]

[[nodiscard]] double pixel_area(const scenarios::LabelMapSpec& map)
{
  return map.grid->pixel_x * map.grid->pixel_y;
}

/// Notes of the reader, and of cutting it into cells.
[[nodiscard]] std::vector<std::string> notes_on_map(const RunPlan& plan)
{
  std::vector<std::string> notes = plan.scenario.body.label_map->notes;
  if (plan.map.share_step > 1) {
    notes.push_back(
        fmt::format("label map: so many mixtures of tissues that shares of a cell are "
                    "rounded to 1/{}",
                    geometry::fraction_quantum / plan.map.share_step));
  }
  return notes;
}

void require_label_file(const fs::path& file)
{
  if (!postproc::is_label_file(file)) {
    throw CLI::ValidationError(fmt::format(
        "--export-labels: {} ends in none of .nii, .nii.gz, .png, which say the form",
        scenarios::in_quotes(file.string())));
  }
}

}  // namespace

std::string label_map_text(const RunPlan& plan, std::size_t most_columns)
{
  if (!plan.scenario.body.label_map) {
    return "";
  }
  const scenarios::LabelMapSpec& map = *plan.scenario.body.label_map;
  const geometry::LabelGrid& grid = *map.grid;
  std::string text = fmt::format(
      "label map   {} x {} pixels of {:.4g} x {:.4g} mm, {}: {}\n\n", grid.nx, grid.ny,
      grid.pixel_x * 1e3, grid.pixel_y * 1e3,
      grid.resampling == geometry::Resampling::nearest ? "nearest" : "fractions",
      map.file.string());
  TextTable table({{"label", "", Align::left},
                   {"tissue", "", Align::left},
                   {"pixels", ""},
                   {"area", "mm2"}});
  for (const scenarios::MappedLabel& label : map.labels) {
    table.add_row({label.label, label.tissue, fmt::format("{}", label.pixels),
                   fmt::format("{:.1f}", static_cast<double>(label.pixels) *
                                             pixel_area(map) * 1e6)});
  }
  text += table.text(most_columns) + "\n";
  for (const std::string& note : notes_on_map(plan)) {
    text += note + "\n";
  }
  return text;
}

std::string label_map_json(const RunPlan& plan)
{
  nlohmann::ordered_json j;
  if (plan.scenario.body.label_map) {
    const scenarios::LabelMapSpec& map = *plan.scenario.body.label_map;
    j["file"] = map.file.string();
    j["nx"] = map.grid->nx;
    j["ny"] = map.grid->ny;
    j["pixel_m"] = {map.grid->pixel_x, map.grid->pixel_y};
    j["corner_m"] = {map.grid->corner.x, map.grid->corner.y};
    j["labels"] = nlohmann::ordered_json::array();
    for (const scenarios::MappedLabel& label : map.labels) {
      j["labels"].push_back(
          {{"label", label.label},
           {"tissue", label.tissue},
           {"pixels", label.pixels},
           {"area_mm2", static_cast<double>(label.pixels) * pixel_area(map) * 1e6}});
    }
    j["parts"] = nlohmann::ordered_json::array();
    for (const geometry::TissueParts& tissue : map.parts.tissues) {
      j["parts"].push_back(
          {{"tissue", tissue.tissue}, {"parts", tissue.parts}, {"small", tissue.small}});
    }
    j["holes"] = map.parts.holes;
    j["small_holes"] = map.parts.small_holes;
    j["notes"] = notes_on_map(plan);
  }
  return j.dump();
}

std::vector<std::string> label_map_notes(const RunPlan& plan)
{
  if (!plan.scenario.body.label_map) {
    return {};
  }
  std::vector<std::string> notes = notes_on_map(plan);
  if (!keeps_label_map(plan) && plan.scenario.body.label_map->relative) {
    notes.push_back(
        fmt::format("label map: larger than {} MiB, not copied into the "
                    "result; keep {}",
                    largest_copy >> 20U, plan.scenario.body.label_map->file.string()));
  }
  return notes;
}

bool keeps_label_map(const RunPlan& plan)
{
  const auto& map = plan.scenario.body.label_map;
  std::error_code error;
  return map && map->relative && fs::file_size(map->file, error) <= largest_copy &&
         !error;
}

void keep_label_map(const RunPlan& plan, const fs::path& copy)
{
  std::ifstream file(plan.scenario.body.label_map->file, std::ios::binary);
  postproc::write_atomically(copy, std::string{std::istreambuf_iterator<char>(file), {}});
}

std::vector<fs::path> export_label_map(const RunPlan& plan, const fs::path& file)
{
  require_label_file(file);
  std::vector<std::string> titles;
  for (const materials::Tissue& tissue : plan.tissues) {
    titles.push_back(tissue.display_name);
  }
  const geometry::Raster& raster = plan.map.raster;
  return postproc::export_labels({raster.nx, raster.ny, raster.cell, raster.corner,
                                  plan.map.labels, plan.map.tissues, titles},
                                 file);
}

std::vector<fs::path> export_label_map(const postproc::Result& result,
                                       const fs::path& file)
{
  require_label_file(file);
  const postproc::GridInfo& grid = result.grid;
  const geometry::Point corner{grid.x.front() - 0.5 * grid.cell,
                               grid.y.front() - 0.5 * grid.cell};
  return postproc::export_labels({grid.nx, grid.ny, grid.cell, corner, result.labels,
                                  result.tissues, result.tissue_titles},
                                 file);
}

}  // namespace torsowave::app
