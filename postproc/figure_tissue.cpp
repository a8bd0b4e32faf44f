#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/figure_raster.hpp"

namespace torsowave::postproc {
namespace {

constexpr int legend_width = 440;  // [px]

struct LegendEntry {
  std::size_t tissue = 0;
  double area = 0.0;  ///< [mm^2]
};

/// Area of a tissue [mm^2]: as the run reported it, else by its cells.
[[nodiscard]] double area_of(const Result& result, std::size_t tissue, std::size_t cells)
{
  const auto known = std::find_if(
      result.materials.begin(), result.materials.end(),
      [&](const MaterialInfo& each) { return each.tissue == result.tissues[tissue]; });
  const double cell = result.grid.cell;
  return 1e6 * (known != result.materials.end()
                    ? known->area
                    : static_cast<double>(cells) * cell * cell);
}

/// The tissues that the slice shows, in the order of their indices.
[[nodiscard]] std::vector<LegendEntry> legend_entries(const Result& result)
{
  std::vector<std::size_t> cells(result.tissues.size());
  for (const std::uint16_t label : result.labels) {
    ++cells[label];
  }
  std::vector<LegendEntry> entries;
  for (std::size_t tissue = 0; tissue < cells.size(); ++tissue) {
    if (cells[tissue] > 0) {
      entries.push_back({tissue, area_of(result, tissue, cells[tissue])});
    }
  }
  return entries;
}

/// Height of a legend row [px]: what the map's height gives, within legible bounds.
[[nodiscard]] double row_height(const Result& result, std::size_t entries)
{
  const double map_height = slice_layout(result.grid, {.right = legend_width}).map.height;
  return std::clamp(map_height / (static_cast<double>(entries) + 1.0), 26.0, 36.0);
}

void draw_legend(Canvas& canvas, const Font& font, const Box& area, const Result& result,
                 const std::vector<LegendEntry>& entries, double row)
{
  const double size = std::min(22.0, 0.74 * row);
  const double swatch = 0.68 * row;
  const double text_left = area.left + swatch + 12.0;
  const double area_room = font.advance("area [mm²]", size) + 14.0;
  double baseline = area.top + 0.68 * row;
  canvas.text(font, "tissue", {text_left, baseline},
              {.size = size, .color = canvas.theme().soft_ink});
  canvas.text(font, "area [mm²]", {area.right(), baseline},
              {.size = size, .color = canvas.theme().soft_ink, .align = Align::end});
  for (const LegendEntry& entry : entries) {
    baseline += row;
    const Box box{area.left, std::round(baseline + 0.18 * row - swatch),
                  std::round(swatch), std::round(swatch)};
    canvas.fill(box, tissue_on(canvas.theme(), entry.tissue));
    draw_frame(canvas, box, canvas.theme().soft_ink);
    canvas.text(font,
                font.fitted(result.tissue_titles[entry.tissue], size,
                            area.right() - area_room - text_left),
                {text_left, baseline}, {.size = size, .color = canvas.theme().ink});
    canvas.text(font, fmt::format("{:.{}f}", entry.area, entry.area < 10.0 ? 1 : 0),
                {area.right(), baseline},
                {.size = size, .color = canvas.theme().ink, .align = Align::end});
  }
}

[[nodiscard]] CellColors tissue_cells(const Result& result, const Theme& theme)
{
  CellColors cells{result.grid.nx, result.grid.ny, 1, {}};
  cells.colors.reserve(result.labels.size());
  for (const std::uint16_t label : result.labels) {
    cells.colors.push_back(tissue_on(theme, label));
  }
  return cells;
}

}  // namespace

void draw_tissue_map(const Result& result, const std::filesystem::path& path,
                     const Look& look)
{
  require_tissues(result);
  const Font font(find_font_file());
  const std::vector<LegendEntry> entries = legend_entries(result);
  const double row = row_height(result, entries.size());
  const double legend_height = row * (static_cast<double>(entries.size()) + 1.0);
  const SliceLayout layout = slice_layout(
      result.grid,
      {.right = legend_width, .panel_height = static_cast<int>(legend_height) + 72});
  Canvas canvas = layout.canvas(look);
  paint_cells(canvas, layout.map, tissue_cells(result, look.theme));
  Coverage outlines(canvas);
  add_outlines(outlines, layout.map, result.grid.nx, result.grid.ny, result.labels, 1.2);
  canvas.paint(outlines, dark_line, 0.65, layout.map);
  draw_slice_axes(canvas, font, layout);
  draw_scale_bar(canvas, font, layout,
                 layout.map.top + std::max(layout.map.height, legend_height) + 22.0);
  draw_implant(canvas, font, layout, result, true);
  const double left = layout.map.right() + 28.0;
  draw_legend(canvas, font,
              {left, layout.map.top, layout.map.right() + legend_width - 24.0 - left,
               legend_height},
              result, entries, row);
  draw_titles(canvas, font, {"Tissues of the slice", describe(result), {}});
  write_png(canvas, path);
}

}  // namespace torsowave::postproc
