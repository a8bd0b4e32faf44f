#include "postproc/line_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/line_axis.hpp"

namespace torsowave::postproc {
namespace {

constexpr int figure_width = 1400;               // [px]
constexpr Box plot{116.0, 104.0, 960.0, 560.0};  // [px]
constexpr double text_size = 22.0;
constexpr double small_size = 20.0;
constexpr double thickness = 2.6;
constexpr double legend_row = 32.0;

/// A figure with its axes scaled.
struct Scene {
  const LineFigure& figure;
  const Font& font;
  ScaledAxis x;
  ScaledAxis y;

  [[nodiscard]] Point at(double x_value, double y_value) const
  {
    return {plot.left + plot.width * x.share(x_value),
            plot.bottom() - plot.height * y.share(y_value)};
  }
  [[nodiscard]] bool shows(double x_value) const
  {
    const double share = x.share(x_value);
    return share >= -1e-9 && share <= 1.0 + 1e-9;
  }
};

[[nodiscard]] bool has_place(Point p)
{
  return std::isfinite(p.x) && std::isfinite(p.y);
}

void require_sound(const LineFigure& figure)
{
  for (const LineSeries& series : figure.series) {
    if (series.x.size() != series.y.size()) {
      throw std::invalid_argument(fmt::format("the curve \"{}\" has {} x and {} y values",
                                              series.name, series.x.size(),
                                              series.y.size()));
    }
  }
}

[[nodiscard]] std::vector<double> all_values(const LineFigure& figure,
                                             std::vector<double> LineSeries::*member)
{
  std::vector<double> values;
  for (const LineSeries& series : figure.series) {
    values.insert(values.end(), (series.*member).begin(), (series.*member).end());
  }
  return values;
}

void draw_bands(Canvas& canvas, const Scene& scene)
{
  for (const LineBand& band : scene.figure.bands) {
    const double left =
        std::clamp(scene.at(band.from, scene.y.low()).x, plot.left, plot.right());
    const double right =
        std::clamp(scene.at(band.to, scene.y.low()).x, plot.left, plot.right());
    canvas.fill({left, plot.top, right - left, plot.height}, band.color, 0.45);
  }
}

/// The name of a band along its top, or upwards where it is narrow.
void name_bands(Canvas& canvas, const Scene& scene)
{
  for (const LineBand& band : scene.figure.bands) {
    const double left =
        std::clamp(scene.at(band.from, scene.y.low()).x, plot.left, plot.right());
    const double right =
        std::clamp(scene.at(band.to, scene.y.low()).x, plot.left, plot.right());
    const double needed = scene.font.advance(band.name, small_size);
    const double middle = 0.5 * (left + right);
    TextStyle style{.size = small_size, .color = soft_ink, .align = Align::center};
    style.halo = paper;
    if (needed + 8.0 <= right - left) {
      canvas.text(scene.font, band.name, {middle, plot.top + 26.0}, style);
    } else if (right - left >= small_size) {
      style.align = Align::end;
      style.direction = Direction::up;
      canvas.text(scene.font, band.name, {middle + 0.36 * small_size, plot.top + 10.0},
                  style);
    }
  }
}

void draw_x_ticks(Canvas& canvas, const Scene& scene)
{
  for (const AxisTick& tick : scene.x.ticks(11)) {
    const double x = scene.at(tick.value, scene.y.low()).x;
    canvas.segment({x, plot.top}, {x, plot.bottom()}, tick.text.empty() ? 0.6 : 1.0,
                   grid_line);
    canvas.text(scene.font, tick.text, {x, plot.bottom() + 29.0},
                {.size = text_size, .color = ink, .align = Align::center});
  }
  canvas.text(scene.font, scene.figure.x.label,
              {plot.left + 0.5 * plot.width, plot.bottom() + 64.0},
              {.size = text_size, .color = ink, .align = Align::center});
}

void draw_y_ticks(Canvas& canvas, const Scene& scene)
{
  for (const AxisTick& tick : scene.y.ticks(11)) {
    const double y = plot.bottom() - plot.height * scene.y.share(tick.value);
    canvas.segment({plot.left, y}, {plot.right(), y}, tick.text.empty() ? 0.6 : 1.0,
                   grid_line);
    canvas.text(scene.font, tick.text, {plot.left - 12.0, y + 0.36 * text_size},
                {.size = text_size, .color = ink, .align = Align::end});
  }
  canvas.text(scene.font, scene.font.fitted(scene.figure.y.label, text_size, plot.height),
              {34.0, plot.top + 0.5 * plot.height},
              {.size = text_size,
               .color = ink,
               .align = Align::center,
               .direction = Direction::up});
}

void draw_marks(Canvas& canvas, const Scene& scene)
{
  for (const LineMark& mark : scene.figure.marks) {
    if (!scene.shows(mark.x)) {
      continue;
    }
    const double x = scene.at(mark.x, scene.y.low()).x;
    canvas.segment({x, plot.top}, {x, plot.bottom()}, 1.4, soft_ink);
    canvas.text(scene.font, mark.text, {x - 6.0, plot.bottom() - 10.0},
                {.size = small_size,
                 .color = soft_ink,
                 .direction = Direction::up,
                 .halo = paper});
  }
}

/// The part of a segment inside the plot and a little beyond; empty where there is none.
/// Y.-D. Liang, B. A. Barsky, ACM Trans. Graphics 3 (1984) 1-22 (from memory).
[[nodiscard]] std::optional<std::array<Point, 2>> clipped(Point from, Point to)
{
  constexpr double air = 20.0;
  double first = 0.0;
  double last = 1.0;
  const auto cut = [&](double start, double step, double low, double high) {
    if (step == 0.0) {
      return start >= low && start <= high;
    }
    const double a = (low - start) / step;
    const double b = (high - start) / step;
    first = std::max(first, std::min(a, b));
    last = std::min(last, std::max(a, b));
    return first <= last;
  };
  const Point step{to.x - from.x, to.y - from.y};
  if (!cut(from.x, step.x, plot.left - air, plot.right() + air) ||
      !cut(from.y, step.y, plot.top - air, plot.bottom() + air)) {
    return std::nullopt;
  }
  const auto at = [&](double share) {
    return Point{from.x + share * step.x, from.y + share * step.y};
  };
  return std::array{at(first), at(last)};
}

/// A pen that lifts itself in dashes, which go on from one segment to the next.
class Pen {
public:
  Pen(Coverage& stroke, LineStyle style) : stroke_(stroke), style_(style) {}

  void lift() { travelled_ = 0.0; }

  void draw(Point from, Point to)
  {
    const auto part = clipped(from, to);
    if (!part) {
      return;
    }
    const auto [start, end] = *part;
    if (style_ == LineStyle::solid) {
      stroke_.add_segment(start, end, thickness);
      return;
    }
    const double length = std::hypot(end.x - start.x, end.y - start.y);
    double done = 0.0;
    while (done < length) {
      const double phase = std::fmod(travelled_, dash + space);
      const double rest = phase < dash ? dash - phase : dash + space - phase;
      const double next = std::min(length, done + std::max(rest, 0.01));
      if (phase < dash) {
        stroke_.add_segment(along(start, end, done / length),
                            along(start, end, next / length), thickness);
      }
      travelled_ += next - done;
      done = next;
    }
  }

private:
  static constexpr double dash = 11.0;  // [px]
  static constexpr double space = 8.0;  // [px]

  [[nodiscard]] static Point along(Point from, Point to, double share)
  {
    return {from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)};
  }

  Coverage& stroke_;
  LineStyle style_;
  double travelled_ = 0.0;
};

void draw_curve(Canvas& canvas, const Scene& scene, const LineSeries& series, Color color)
{
  Coverage stroke(canvas.width(), canvas.height());
  Pen pen(stroke, series.style);
  std::optional<Point> before;
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    const Point here = scene.at(series.x[i], series.y[i]);
    if (!has_place(here)) {
      before.reset();
      pen.lift();
      continue;
    }
    const bool lonely =
        !before && (i + 1 == series.x.size() ||
                    !has_place(scene.at(series.x[i + 1], series.y[i + 1])));
    if ((series.style == LineStyle::dots || lonely) && clipped(here, here)) {
      stroke.add_ring(here, 3.0, 6.0);
    }
    if (before && series.style != LineStyle::dots) {
      pen.draw(*before, here);
    }
    before = here;
  }
  canvas.paint(stroke, color, 1.0, plot);
}

[[nodiscard]] Color color_of(const LineFigure& figure, std::size_t index)
{
  std::size_t own = 0;
  for (std::size_t i = 0; i < index; ++i) {
    own += figure.series[i].color ? 0U : 1U;
  }
  return figure.series[index].color.value_or(line_color(own));
}

void draw_legend_line(Canvas& canvas, Point start, LineStyle style, Color color)
{
  Coverage stroke(canvas.width(), canvas.height());
  if (style == LineStyle::dots) {
    stroke.add_ring({start.x + 18.0, start.y}, 4.0, 8.0);
  } else if (style == LineStyle::dashed) {
    for (const double at : {0.0, 14.0, 28.0}) {
      stroke.add_segment({start.x + at, start.y}, {start.x + at + 8.0, start.y}, 4.0);
    }
  } else {
    stroke.add_segment(start, {start.x + 36.0, start.y}, 4.0);
  }
  canvas.paint(stroke, color);
}

void draw_legend(Canvas& canvas, const Scene& scene)
{
  const double left = plot.right() + 28.0;
  const double room = figure_width - left - 48.0 - 12.0;
  double y = plot.top + 16.0;
  for (std::size_t i = 0; i < scene.figure.series.size(); ++i) {
    const LineSeries& series = scene.figure.series[i];
    if (series.name.empty()) {
      continue;
    }
    if (y + legend_row > plot.bottom()) {
      canvas.text(scene.font, "…", {left, y + 8.0}, {.size = text_size, .color = ink});
      return;
    }
    draw_legend_line(canvas, {left, y}, series.style, color_of(scene.figure, i));
    canvas.text(scene.font, scene.font.fitted(series.name, text_size, room),
                {left + 48.0, y + 8.0}, {.size = text_size, .color = ink});
    y += legend_row;
  }
}

/// Says how many values lie below an axis whose span is bounded.
[[nodiscard]] std::vector<std::string> notes_of(const LineFigure& figure,
                                                const Scene& scene)
{
  std::vector<std::string> notes = figure.notes;
  if (!figure.y.widest_span || figure.y.range) {
    return notes;
  }
  std::size_t below = 0;
  for (const LineSeries& series : figure.series) {
    below += static_cast<std::size_t>(
        std::ranges::count_if(series.y, [&](double y) { return y < scene.y.low(); }));
  }
  if (below > 0) {
    notes.insert(notes.begin(),
                 fmt::format("{} values lie below the end of the axis.", below));
  }
  return notes;
}

}  // namespace

Color line_color(std::size_t index) noexcept
{
  constexpr std::array<Color, 7> colors{{{0, 114, 178},
                                         {213, 94, 0},
                                         {0, 158, 115},
                                         {204, 121, 167},
                                         {86, 180, 233},
                                         {230, 159, 0},
                                         {0, 0, 0}}};
  return colors[index % colors.size()];
}

Canvas draw_lines(const LineFigure& figure)
{
  require_sound(figure);
  const Font font(find_font_file());
  const Scene scene{figure, font,
                    ScaledAxis(figure.x, all_values(figure, &LineSeries::x), 0.0),
                    ScaledAxis(figure.y, all_values(figure, &LineSeries::y), 0.05)};
  const Titles titles{figure.title, figure.subtitle, notes_of(figure, scene)};
  const int height =
      static_cast<int>(plot.bottom()) + 100 + 28 * static_cast<int>(titles.notes.size());
  Canvas canvas(figure_width, height + height % 2);
  draw_bands(canvas, scene);
  draw_x_ticks(canvas, scene);
  draw_y_ticks(canvas, scene);
  draw_marks(canvas, scene);
  for (std::size_t i = 0; i < figure.series.size(); ++i) {
    draw_curve(canvas, scene, figure.series[i], color_of(figure, i));
  }
  name_bands(canvas, scene);
  draw_frame(canvas, plot, ink);
  draw_legend(canvas, scene);
  draw_titles(canvas, font, titles);
  return canvas;
}

void write_lines(const LineFigure& figure, const std::filesystem::path& path)
{
  write_png(draw_lines(figure), path);
}

}  // namespace torsowave::postproc
