#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/row_figures.hpp"

namespace torsowave::postproc {
namespace {

constexpr double figure_width = 1400.0;
constexpr double left = 116.0;
constexpr double top = 104.0;
constexpr double map_width = 1000.0;
constexpr double text_size = 22.0;
constexpr double small_size = 20.0;

/// A map whose lower side is x [mm].
struct RowMap {
  Canvas& canvas;
  const Font& font;
  Box box;
  Range x;  ///< [mm]

  [[nodiscard]] double at(double millimetres) const
  {
    return box.left + box.width * (millimetres - x.low) / (x.high - x.low);
  }
};

[[nodiscard]] Range row_range(const GridInfo& grid)
{
  return {1e3 * (grid.x.front() - 0.5 * grid.cell),
          1e3 * (grid.x.back() + 0.5 * grid.cell)};
}

void draw_x_axis(const RowMap& map, const RowLine& line)
{
  const std::vector<double> ticks = round_ticks(map.x, 11);
  const std::vector<std::string> texts = tick_texts(ticks);
  for (std::size_t k = 0; k < ticks.size(); ++k) {
    const double x = map.at(ticks[k]);
    map.canvas.fill({x - 0.75, map.box.bottom(), 1.5, 8.0}, map.canvas.theme().ink);
    map.canvas.text(
        map.font, texts[k], {x, map.box.bottom() + 32.0},
        {.size = text_size, .color = map.canvas.theme().ink, .align = Align::center});
  }
  map.canvas.text(
      map.font, fmt::format("{} [mm]", line.axis),
      {map.box.left + 0.5 * map.box.width, map.box.bottom() + 66.0},
      {.size = text_size, .color = map.canvas.theme().ink, .align = Align::center});
}

void draw_time_axis(const RowMap& map, Range nanoseconds)
{
  const std::vector<double> ticks = round_ticks(nanoseconds, 11);
  const std::vector<std::string> texts = tick_texts(ticks);
  for (std::size_t k = 0; k < ticks.size(); ++k) {
    const double share =
        (ticks[k] - nanoseconds.low) / (nanoseconds.high - nanoseconds.low);
    const double y = map.box.bottom() - share * map.box.height;
    map.canvas.fill({map.box.left - 8.0, y - 0.75, 8.0, 1.5}, map.canvas.theme().ink);
    map.canvas.text(
        map.font, texts[k], {map.box.left - 12.0, y + 0.36 * text_size},
        {.size = text_size, .color = map.canvas.theme().ink, .align = Align::end});
  }
  map.canvas.text(map.font, "time [ns]", {34.0, map.box.top + 0.5 * map.box.height},
                  {.size = text_size,
                   .color = map.canvas.theme().ink,
                   .align = Align::center,
                   .direction = Direction::up});
}

/// Lines at the faces, and each layer's name where it has room: along the top, upwards in
/// a narrow one.
void draw_layers(const RowMap& map, const Result& result, Color map_line)
{
  for (const LayerInfo& layer : result.layers) {
    const double from = map.at(std::clamp(1e3 * layer.from, map.x.low, map.x.high));
    const double to = map.at(std::clamp(1e3 * layer.to, map.x.low, map.x.high));
    if (from > map.box.left) {
      map.canvas.segment({from, map.box.top}, {from, map.box.bottom()}, 1.2, map_line);
    }
    const double middle = 0.5 * (from + to);
    TextStyle style{.size = small_size, .color = dark_line, .align = Align::center};
    style.halo = light_line;
    if (map.font.advance(layer.tissue, small_size) + 8.0 <= to - from) {
      map.canvas.text(map.font, layer.tissue, {middle, map.box.top + 28.0}, style);
    } else if (to - from >= small_size) {
      style.align = Align::end;
      style.direction = Direction::up;
      map.canvas.text(map.font, layer.tissue,
                      {middle + 0.36 * small_size, map.box.top + 10.0}, style);
    }
  }
}

/// How many moments there are until all values stay small for good: what follows would be
/// most of the picture. At least two.
[[nodiscard]] std::size_t lively(const std::vector<Snapshot>& moments, double range)
{
  constexpr double least = 0.01;
  std::size_t count = moments.size();
  const auto is_calm = [&](const Snapshot& moment) {
    return std::ranges::all_of(moment.values, [&](float value) {
      return std::abs(static_cast<double>(value)) < least * range;
    });
  };
  while (count > 2 && is_calm(moments[count - 1])) {
    --count;
  }
  return count;
}

/// \throws std::invalid_argument
void require_rows(const Result& result, const std::vector<Snapshot>& moments,
                  const SnapshotPlan& plan)
{
  if (moments.size() < 2) {
    throw std::invalid_argument("a space-time diagram needs two moments or more");
  }
  for (const Snapshot& moment : moments) {
    require_size("moment", moment.values.size(),
                 static_cast<std::size_t>(kept(result.grid.nx, plan.stride)));
  }
}

[[nodiscard]] double largest_value(const std::vector<Snapshot>& moments)
{
  double largest = 0.0;
  for (const Snapshot& moment : moments) {
    for (const float value : moment.values) {
      largest = std::max(largest, std::abs(static_cast<double>(value)));
    }
  }
  return largest;
}

[[nodiscard]] std::vector<std::string> map_notes(const Result& result)
{
  std::vector<std::string> notes{
      fmt::format("The outermost {:.4g} mm at each end are the absorbing layer.",
                  1e3 * result.grid.absorbing_cells * result.grid.cell)};
  if (result.scattered_rim) {
    notes.push_back(scattered_note(result));
  }
  return notes;
}

[[nodiscard]] double range_of(const std::vector<Snapshot>& moments)
{
  std::vector<float> all;
  for (const Snapshot& moment : moments) {
    all.insert(all.end(), moment.values.begin(), moment.values.end());
  }
  return symmetric_range(all);
}

}  // namespace

void draw_spacetime(const Result& result, const std::vector<Snapshot>& moments,
                    const SnapshotPlan& plan, const std::filesystem::path& path,
                    const RowLine& line, const Look& look)
{
  require_rows(result, moments, plan);
  const std::size_t rows = lively(moments, largest_value(moments));
  const std::vector<Snapshot> shown(moments.begin(),
                                    moments.begin() + static_cast<std::ptrdiff_t>(rows));
  const double range = range_of(shown);
  const auto color_of = [range, dark = look.theme.dark](double value) {
    return diverging_color(value / range, dark);
  };
  CellColors cells{kept(result.grid.nx, plan.stride), static_cast<int>(rows), 1, {}};
  for (const Snapshot& moment : shown) {
    for (const float value : moment.values) {
      cells.colors.push_back(color_of(static_cast<double>(value)));
    }
  }
  const Font font(find_font_file());
  const Box box{left, top, map_width, 600.0};
  Canvas canvas({0.0, 0.0, figure_width, 860.0}, box, look);
  const RowMap map{canvas, font, box, row_range(result.grid)};
  paint_cells(canvas, box, cells);
  draw_layers(map, result, look.theme.dark ? light_line : dark_line);
  draw_frame(canvas, box, look.theme.ink);
  draw_x_axis(map, line);
  const double step =
      (shown.back().time - shown.front().time) / static_cast<double>(rows - 1);
  draw_time_axis(map, {1e9 * (shown.front().time - 0.5 * step),
                       1e9 * (shown.back().time + 0.5 * step)});
  draw_color_bar(
      canvas, font, box,
      {{-range, range}, fmt::format("{} [{}]", plan.field, plan.units), color_of});
  draw_titles(
      canvas, font,
      {result.mode == "1D" ? fmt::format("{} over x and time", plan.field)
                           : fmt::format("{} {} over time", plan.field, line.place),
       describe(result), map_notes(result)});
  write_png(canvas, path);
}

void draw_row_tissues(const Result& result, const std::filesystem::path& path,
                      const RowLine& line, const Look& look)
{
  require_tissues(result);
  const Font font(find_font_file());
  const Box box{left, top, map_width, 260.0};
  Canvas canvas({0.0, 0.0, figure_width, 500.0}, box, look);
  const RowMap map{canvas, font, box, row_range(result.grid)};
  for (const LayerInfo& layer : result.layers) {
    const double from = map.at(std::clamp(1e3 * layer.from, map.x.low, map.x.high));
    const double to = map.at(std::clamp(1e3 * layer.to, map.x.low, map.x.high));
    const auto tissue = std::ranges::find(result.tissues, layer.tissue);
    canvas.fill(
        {from, box.top, to - from, box.height},
        tissue_on(look.theme, static_cast<std::size_t>(tissue - result.tissues.begin())));
  }
  draw_layers(map, result, dark_line);
  draw_frame(canvas, box, look.theme.ink);
  if (result.implant) {
    const double x = map.at(1e3 * result.implant->x);
    canvas.segment({x, box.top}, {x, box.bottom()}, 3.0, dark_line);
    canvas.text(font, source_name(result), {x + 8.0, box.bottom() - 12.0},
                {.size = small_size, .color = dark_line, .halo = light_line});
  }
  draw_x_axis(map, line);
  draw_titles(canvas, font,
              {result.mode == "1D" ? "Layers" : fmt::format("Tissues {}", line.place),
               describe(result),
               {}});
  write_png(canvas, path);
}

}  // namespace torsowave::postproc
