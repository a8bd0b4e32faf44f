#include "postproc/figure_frame.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace torsowave::postproc {
namespace {

// Sizes of figures and texts [px]. At half size the smallest text is 9 px high.
constexpr double full_width = 1400.0;
constexpr double left_margin = 116.0;
constexpr double top_margin = 104.0;
constexpr double axis_margin = 84.0;  // ticks and name of the x axis
constexpr double note_height = 27.0;
constexpr double bottom_margin = 14.0;
constexpr double largest_map_height = 1000.0;
constexpr double title_size = 30.0;
constexpr double text_size = 22.0;
constexpr double note_size = 20.0;
constexpr double tick_length = 7.0;

void require_slice(const GridInfo& grid)
{
  if (grid.nx < 2 || grid.ny < 2 || !(grid.cell > 0.0)) {
    throw std::invalid_argument(
        fmt::format("a map needs a slice of at least 2 x 2 cells, got {} x {} of {} m",
                    grid.nx, grid.ny, grid.cell));
  }
  if (grid.x.size() != static_cast<std::size_t>(grid.nx) ||
      grid.y.size() != static_cast<std::size_t>(grid.ny)) {
    throw std::invalid_argument(
        fmt::format("the grid has {} x {} cells but {} x and {} y values", grid.nx,
                    grid.ny, grid.x.size(), grid.y.size()));
  }
}

/// Pixels per cell: as large as fits, and a whole number where that costs little.
[[nodiscard]] double pixels_per_cell(const GridInfo& grid, double width)
{
  const double fitting = std::min(width / grid.nx, largest_map_height / grid.ny);
  const double whole = std::floor(fitting);
  return whole >= 0.85 * fitting ? whole : fitting;
}

[[nodiscard]] int even(double length)
{
  return 2 * static_cast<int>(std::ceil(0.5 * length));
}

/// What stands along an axis: the patient's sides at its ends, its name in the middle.
struct AxisNames {
  const char* low;
  const char* name;
  const char* high;
};

/// Draws the names from `start` on over `length` pixels, smaller where that is short.
void draw_axis_names(Canvas& canvas, const Font& font, const AxisNames& names,
                     Point start, double length, Direction direction)
{
  constexpr double smallest_size = 11.0;
  const double needed = font.advance(names.name, text_size) + 2.0 * text_size +
                        2.0 * std::max(font.advance(names.low, text_size),
                                       font.advance(names.high, text_size));
  const double size =
      text_size * std::clamp(length / needed, smallest_size / text_size, 1.0);
  const auto put = [&](const char* text, double along, Align align, Color color) {
    const Point anchor = direction == Direction::right ? Point{start.x + along, start.y}
                                                       : Point{start.x, start.y - along};
    canvas.text(font, text, anchor,
                {.size = size, .color = color, .align = align, .direction = direction});
  };
  put(names.low, 0.0, Align::start, canvas.theme().soft_ink);
  put(names.name, 0.5 * length, Align::center, canvas.theme().ink);
  put(names.high, length, Align::end, canvas.theme().soft_ink);
}

void draw_x_axis(Canvas& canvas, const Font& font, const SliceLayout& layout)
{
  const Box& map = layout.map;
  const Range millimetres{layout.x.low * 1e3, layout.x.high * 1e3};
  const auto count = static_cast<std::size_t>(std::clamp(map.width / 75.0, 2.0, 12.0));
  const std::vector<double> ticks = round_ticks(millimetres, count);
  const std::vector<std::string> texts = tick_texts(ticks);
  for (std::size_t k = 0; k < ticks.size(); ++k) {
    const double x = layout.at(ticks[k] * 1e-3, layout.y.low).x;
    canvas.fill({x - 0.75, map.bottom(), 1.5, tick_length}, canvas.theme().ink);
    canvas.text(font, texts[k], {x, map.bottom() + 29.0},
                {.size = text_size, .color = canvas.theme().ink, .align = Align::center});
  }
  const double baseline = map.bottom() + 62.0;
  const AxisNames names =
      map.width < 420.0 ? AxisNames{"← right", "x [mm]", "left →"}
                        : AxisNames{"← patient’s right", "x [mm]", "patient’s left →"};
  draw_axis_names(canvas, font, names, {map.left, baseline}, map.width, Direction::right);
}

void draw_y_axis(Canvas& canvas, const Font& font, const SliceLayout& layout)
{
  const Box& map = layout.map;
  const Range millimetres{layout.y.low * 1e3, layout.y.high * 1e3};
  const auto count = static_cast<std::size_t>(std::clamp(map.height / 45.0, 2.0, 12.0));
  const std::vector<double> ticks = round_ticks(millimetres, count);
  const std::vector<std::string> texts = tick_texts(ticks);
  for (std::size_t k = 0; k < ticks.size(); ++k) {
    const double y = layout.at(layout.x.low, ticks[k] * 1e-3).y;
    canvas.fill({map.left - tick_length, y - 0.75, tick_length, 1.5}, canvas.theme().ink);
    canvas.text(font, texts[k], {map.left - 12.0, y + 0.36 * text_size},
                {.size = text_size, .color = canvas.theme().ink, .align = Align::end});
  }
  draw_axis_names(canvas, font, {"← back", "y [mm]", "front →"}, {34.0, map.bottom()},
                  map.height, Direction::up);
}

/// The ticks of a colour bar of this height.
[[nodiscard]] std::vector<AxisTick> ticks_of(const ColorScale& scale, double height)
{
  if (!scale.ticks.empty()) {
    return scale.ticks;
  }
  const auto count = static_cast<std::size_t>(std::clamp(height / 45.0, 2.0, 11.0));
  const std::vector<double> values = round_ticks(scale.range, count);
  const std::vector<std::string> texts = tick_texts(values);
  std::vector<AxisTick> ticks;
  for (std::size_t k = 0; k < values.size(); ++k) {
    ticks.push_back({values[k], texts[k]});
  }
  return ticks;
}

}  // namespace

Point SliceLayout::at(double x_metres, double y_metres) const noexcept
{
  return {map.left + map.width * (x_metres - x.low) / (x.high - x.low),
          map.bottom() - map.height * (y_metres - y.low) / (y.high - y.low)};
}

SliceLayout slice_layout(const GridInfo& grid, const SliceMargins& margins)
{
  require_slice(grid);
  const double available = full_width - left_margin - margins.right;
  const double scale = pixels_per_cell(grid, available);
  SliceLayout layout;
  layout.map = {left_margin, top_margin, std::max(2.0, std::round(scale * grid.nx)),
                std::max(2.0, std::round(scale * grid.ny))};
  layout.page.width =
      even(std::max(layout.map.right() + margins.right, 0.7 * full_width));
  layout.page.height = even(top_margin +
                            std::max(layout.map.height + axis_margin,
                                     static_cast<double>(margins.panel_height)) +
                            margins.notes * note_height + bottom_margin);
  layout.x = {grid.x.front() - 0.5 * grid.cell, grid.x.back() + 0.5 * grid.cell};
  layout.y = {grid.y.front() - 0.5 * grid.cell, grid.y.back() + 0.5 * grid.cell};
  return layout;
}

Color tissue_on(const Theme& theme, std::size_t tissue) noexcept
{
  const Color color = tissue_color(tissue);
  return tissue == 0 ? theme.tint(color) : color;
}

void draw_titles(Drawing& drawing, const Font& font, const Titles& titles)
{
  const double room = drawing.page().width - left_margin - 24.0;
  drawing.text(font, font.fitted(titles.title, title_size, room), {left_margin, 46.0},
               {.size = title_size, .color = drawing.theme().ink});
  drawing.text(font, font.fitted(titles.subtitle, text_size, room), {left_margin, 82.0},
               {.size = text_size, .color = drawing.theme().soft_ink});
  double baseline = drawing.page().height - bottom_margin - 6.0 -
                    note_height * (static_cast<double>(titles.notes.size()) - 1.0);
  for (const std::string& note : titles.notes) {
    drawing.text(font, font.fitted(note, note_size, room), {left_margin, baseline},
                 {.size = note_size, .color = drawing.theme().soft_ink});
    baseline += note_height;
  }
}

void draw_slice_axes(Canvas& canvas, const Font& font, const SliceLayout& layout)
{
  draw_frame(canvas, layout.map, canvas.theme().ink);
  draw_x_axis(canvas, font, layout);
  draw_y_axis(canvas, font, layout);
}

void draw_scale_bar(Canvas& canvas, const Font& font, const SliceLayout& layout,
                    double top)
{
  constexpr double most_units = 155.0;
  const double per_metre = layout.map.width / (layout.x.high - layout.x.low);
  const double most = most_units / per_metre;  // [m]
  const double decade = std::pow(10.0, std::floor(std::log10(most)));
  const double length = decade * (most >= 5.0 * decade   ? 5.0
                                  : most >= 2.0 * decade ? 2.0
                                                         : 1.0);
  const double left = layout.map.right() + 28.0;
  const double right = left + per_metre * length;
  const Color ink = canvas.theme().ink;
  canvas.fill({left, top + 4.5, right - left, 3.0}, ink);
  canvas.fill({left, top, 2.0, 12.0}, ink);
  canvas.fill({right - 2.0, top, 2.0, 12.0}, ink);
  canvas.text(font, fmt::format("{:.4g} mm", 1e3 * length),
              {0.5 * (left + right), top + 36.0},
              {.size = note_size, .color = ink, .align = Align::center});
}

void draw_implant(Canvas& canvas, const Font& font, const SliceLayout& layout,
                  const Result& result, bool named)
{
  if (!result.implant) {
    return;
  }
  constexpr double radius = 10.0;
  const Point center = layout.at(result.implant->x, result.implant->y);
  const Box& map = layout.map;
  if (!(center.x >= map.left && center.x <= map.right() && center.y >= map.top &&
        center.y <= map.bottom())) {
    return;
  }
  Coverage rim(canvas);
  rim.add_ring(center, radius, 6.0);
  canvas.paint(rim, light_line, 0.9, map);
  Coverage ring(canvas);
  ring.add_ring(center, radius, 2.6);
  canvas.paint(ring, dark_line, 1.0, map);
  if (named) {
    const bool right = center.x + 120.0 < map.right();
    canvas.text(font, "implant",
                {center.x + (right ? 1.0 : -1.0) * (radius + 9.0), center.y + 8.0},
                {.size = text_size,
                 .color = dark_line,
                 .align = right ? Align::start : Align::end,
                 .halo = light_line});
  }
}

void draw_frame(Drawing& drawing, const Box& box, Color color)
{
  drawing.fill({box.left - 1.0, box.top - 1.0, box.width + 2.0, 1.0}, color);
  drawing.fill({box.left - 1.0, box.bottom(), box.width + 2.0, 1.0}, color);
  drawing.fill({box.left - 1.0, box.top, 1.0, box.height}, color);
  drawing.fill({box.right(), box.top, 1.0, box.height}, color);
}

void draw_color_bar(Canvas& canvas, const Font& font, const Box& map,
                    const ColorScale& scale)
{
  const Box bar{map.right() + 28.0, map.top, 30.0, map.height};
  const Range& range = scale.range;
  for (double row = 0.0; row < bar.height; row += 1.0) {
    const double share = 1.0 - (row + 0.5) / bar.height;
    // Each row covers the rim of the one before, where they meet inside a pixel.
    canvas.fill({bar.left, bar.top + row, bar.width, std::min(2.0, bar.height - row)},
                scale.color_of(range.low + share * (range.high - range.low)));
  }
  draw_frame(canvas, bar, canvas.theme().ink);
  double widest = 0.0;
  for (const AxisTick& tick : ticks_of(scale, map.height)) {
    const double share = (tick.value - range.low) / (range.high - range.low);
    const double y = bar.bottom() - share * bar.height;
    canvas.fill({bar.right(), y - 0.75, tick_length, 1.5}, canvas.theme().ink);
    canvas.text(font, tick.text, {bar.right() + 12.0, y + 0.36 * text_size},
                {.size = text_size, .color = canvas.theme().ink});
    widest = std::max(widest, font.advance(tick.text, text_size));
  }
  const double x = bar.right() + 12.0 + widest + 32.0;
  canvas.text(font, font.fitted(scale.label, text_size, std::max(map.height, 240.0)),
              {x, bar.top + 0.5 * bar.height},
              {.size = text_size,
               .color = canvas.theme().ink,
               .align = Align::center,
               .direction = Direction::up});
}

}  // namespace torsowave::postproc
