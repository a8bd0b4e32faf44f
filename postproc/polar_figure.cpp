#include "postproc/polar_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <numbers>
#include <stdexcept>

#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/line_figure.hpp"

namespace torsowave::postproc {
namespace {

constexpr double page_width = 1400.0;
constexpr Point center{560.0, 560.0};
constexpr double radius = 380.0;
constexpr double text_size = 22.0;
constexpr double legend_left = 1090.0;
constexpr double ring_step = 10.0;  // [dB]

/// Levels from the centre to the outer circle.
[[nodiscard]] Range level_range(const PolarFigure& figure)
{
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const PolarSeries& series : figure.series) {
    require_size(fmt::format("levels of {}", series.name), series.level.size(),
                 series.angle_deg.size());
    for (const double level : series.level) {
      if (std::isfinite(level)) {
        low = std::min(low, level);
        high = std::max(high, level);
      }
    }
  }
  if (low > high) {
    throw std::invalid_argument("a polar figure needs at least one finite level");
  }
  if (!figure.zero_name.empty()) {
    low = std::min(low, -1.0);
    high = std::max(high, 1.0);
  }
  const double top = ring_step * std::ceil(high / ring_step - 1e-9);
  const double bottom = ring_step * std::floor(low / ring_step - 0.1);
  return {std::max(bottom, top - figure.widest_span), top};
}

[[nodiscard]] Point at(double angle_deg, double distance)
{
  const double angle = angle_deg * std::numbers::pi / 180.0;
  return {center.x + distance * std::cos(angle), center.y - distance * std::sin(angle)};
}

[[nodiscard]] double distance_of(double level, const Range& range)
{
  return radius * std::clamp((level - range.low) / (range.high - range.low), 0.0, 1.0);
}

[[nodiscard]] std::vector<Point> circle(double distance)
{
  std::vector<Point> points;
  for (int degree = 0; degree <= 360; degree += 3) {
    points.push_back(at(degree, distance));
  }
  return points;
}

[[nodiscard]] std::string level_text(double level)
{
  return fmt::format("{}{:.0f}", level < 0.0 ? "−" : "", std::abs(level));
}

void draw_circles(Drawing& drawing, const Range& range)
{
  const Theme& theme = drawing.theme();
  for (double level = range.low + ring_step; level < range.high - 1.0;
       level += ring_step) {
    drawing.stroke({{circle(distance_of(level, range))}, 1.2, theme.grid_line, {}, {}});
  }
  drawing.stroke({{circle(radius)}, 1.6, theme.soft_ink, {}, {}});
}

void draw_zero(Drawing& drawing, const Range& range)
{
  drawing.stroke({{circle(distance_of(0.0, range))}, 3.0, drawing.theme().ink, {}, {}});
}

/// Over the curves, so that they stay legible.
void name_circles(Drawing& drawing, const Font& font, const Range& range)
{
  constexpr double where = 75.0;  // [degree], between two spokes
  for (double level = range.low; level < range.high + 1.0; level += ring_step) {
    const Point place = at(where, distance_of(level, range));
    drawing.text(font, level_text(level), {place.x, place.y + 7.0},
                 {.size = 20.0,
                  .color = drawing.theme().soft_ink,
                  .align = Align::center,
                  .halo = drawing.theme().paper});
  }
}

void draw_spokes(Drawing& drawing, const Font& font)
{
  constexpr std::array<const char*, 4> sides = {"left", "front", "right", "back"};
  for (int angle = 0; angle < 360; angle += 30) {
    drawing.segment(center, at(angle, radius), 1.0, drawing.theme().grid_line);
    const bool side = angle % 90 == 0;
    const Point place = at(angle, radius + 34.0);
    const double aside = std::cos(angle * std::numbers::pi / 180.0);
    const Align align = aside > 0.1    ? Align::start
                        : aside < -0.1 ? Align::end
                                       : Align::center;
    const double back = align == Align::start ? -18.0 : align == Align::end ? 18.0 : 0.0;
    drawing.text(
        font,
        side ? fmt::format("{}° {}", angle, sides[static_cast<std::size_t>(angle / 90)])
             : fmt::format("{}°", angle),
        {place.x + back, place.y + 8.0},
        {.size = text_size, .color = drawing.theme().ink, .align = align});
  }
}

/// Pieces between gaps; the last direction joins the first.
[[nodiscard]] std::vector<std::vector<Point>> lines_of(const PolarSeries& series,
                                                       const Range& range)
{
  std::vector<std::vector<Point>> lines(1);
  for (std::size_t n = 0; n <= series.level.size(); ++n) {
    const std::size_t k = n % series.level.size();
    if (std::isfinite(series.level[k])) {
      lines.back().push_back(
          at(series.angle_deg[k], distance_of(series.level[k], range)));
    } else if (!lines.back().empty()) {
      lines.emplace_back();
    }
  }
  return lines;
}

void draw_legend(Drawing& drawing, const Font& font, const PolarFigure& figure)
{
  const Theme& theme = drawing.theme();
  double y = center.y - radius + 8.0;
  const auto entry = [&](const std::string& name, double thickness, Color color) {
    drawing.segment({legend_left, y}, {legend_left + 36.0, y}, thickness, color);
    drawing.text(font, font.fitted(name, text_size, page_width - legend_left - 60.0),
                 {legend_left + 48.0, y + 8.0}, {.size = text_size, .color = theme.ink});
    y += 32.0;
  };
  for (std::size_t n = 0; n < figure.series.size(); ++n) {
    entry(figure.series[n].name, 4.0, theme.line(line_color(n)));
  }
  if (!figure.zero_name.empty()) {
    entry(figure.zero_name, 3.0, theme.ink);
  }
}

[[nodiscard]] std::vector<std::string> notes_of(const PolarFigure& figure,
                                                const Range& range)
{
  std::vector<std::string> notes = figure.notes;
  std::size_t below = 0;
  for (const PolarSeries& series : figure.series) {
    below += static_cast<std::size_t>(std::ranges::count_if(
        series.level, [&](double level) { return level < range.low; }));
  }
  if (below > 0) {
    notes.insert(notes.begin(), fmt::format("{} values lie below the centre’s {} dB.",
                                            below, level_text(range.low)));
  }
  return notes;
}

}  // namespace

VectorFigure polar_picture(const PolarFigure& figure)
{
  const Range range = level_range(figure);
  const auto font = std::make_shared<const Font>(find_font_file());
  const Titles titles{figure.title, figure.subtitle, notes_of(figure, range)};
  const double height =
      center.y + radius + 112.0 + 28.0 * static_cast<double>(titles.notes.size());
  const Box core{center.x - radius - 4.0, center.y - radius - 4.0, 2.0 * radius + 8.0,
                 2.0 * radius + 8.0};
  return {
      figure.title,
      {0.0, 0.0, page_width, 2.0 * std::ceil(0.5 * height)},
      core,
      [figure, font, titles, range](Drawing& drawing) {
        draw_circles(drawing, range);
        draw_spokes(drawing, *font);
        if (!figure.zero_name.empty() && range.low < 0.0) {
          draw_zero(drawing, range);
        }
        for (std::size_t n = 0; n < figure.series.size(); ++n) {
          drawing.stroke({lines_of(figure.series[n], range),
                          2.6,
                          drawing.theme().line(line_color(n)),
                          {},
                          {}});
        }
        name_circles(drawing, *font, range);
        drawing.text(
            *font, figure.level_label, {center.x, center.y + radius + 84.0},
            {.size = text_size, .color = drawing.theme().ink, .align = Align::center});
        draw_legend(drawing, *font, figure);
        draw_titles(drawing, *font, titles);
      }};
}

}  // namespace torsowave::postproc
