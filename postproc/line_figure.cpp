#include "postproc/line_figure.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <stdexcept>

#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/line_axis.hpp"

namespace torsowave::postproc {
namespace {

constexpr double figure_width = 1400.0;          // [px]
constexpr Box plot{116.0, 104.0, 960.0, 560.0};  // [px]
constexpr double text_size = 22.0;
constexpr double small_size = 20.0;
constexpr double thickness = 2.6;
constexpr double dot_radius = 5.0;  // seen over a line
constexpr double legend_row = 32.0;
constexpr std::array<double, 2> dashes{11.0, 8.0};

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

void draw_bands(Drawing& drawing, const Scene& scene)
{
  for (const LineBand& band : scene.figure.bands) {
    const double left =
        std::clamp(scene.at(band.from, scene.y.low()).x, plot.left, plot.right());
    const double right =
        std::clamp(scene.at(band.to, scene.y.low()).x, plot.left, plot.right());
    drawing.fill({left, plot.top, right - left, plot.height},
                 drawing.theme().tint(band.color), 0.45);
  }
}

/// The name of a band along its top, or upwards where it is narrow.
void name_bands(Drawing& drawing, const Scene& scene)
{
  for (const LineBand& band : scene.figure.bands) {
    const double left =
        std::clamp(scene.at(band.from, scene.y.low()).x, plot.left, plot.right());
    const double right =
        std::clamp(scene.at(band.to, scene.y.low()).x, plot.left, plot.right());
    const double needed = scene.font.advance(band.name, small_size);
    const double middle = 0.5 * (left + right);
    TextStyle style{
        .size = small_size, .color = drawing.theme().soft_ink, .align = Align::center};
    style.halo = drawing.theme().paper;
    if (needed + 8.0 <= right - left) {
      drawing.text(scene.font, band.name, {middle, plot.top + 26.0}, style);
    } else if (right - left >= small_size) {
      style.align = Align::end;
      style.direction = Direction::up;
      drawing.text(scene.font, band.name, {middle + 0.36 * small_size, plot.top + 10.0},
                   style);
    }
  }
}

void draw_x_ticks(Drawing& drawing, const Scene& scene)
{
  for (const AxisTick& tick : scene.x.ticks(11)) {
    const double x = scene.at(tick.value, scene.y.low()).x;
    drawing.segment({x, plot.top}, {x, plot.bottom()}, tick.text.empty() ? 0.6 : 1.0,
                    drawing.theme().grid_line);
    drawing.text(
        scene.font, tick.text, {x, plot.bottom() + 29.0},
        {.size = text_size, .color = drawing.theme().ink, .align = Align::center});
  }
  drawing.text(scene.font, scene.figure.x.label,
               {plot.left + 0.5 * plot.width, plot.bottom() + 64.0},
               {.size = text_size, .color = drawing.theme().ink, .align = Align::center});
}

void draw_y_ticks(Drawing& drawing, const Scene& scene)
{
  for (const AxisTick& tick : scene.y.ticks(11)) {
    const double y = plot.bottom() - plot.height * scene.y.share(tick.value);
    drawing.segment({plot.left, y}, {plot.right(), y}, tick.text.empty() ? 0.6 : 1.0,
                    drawing.theme().grid_line);
    drawing.text(scene.font, tick.text, {plot.left - 12.0, y + 0.36 * text_size},
                 {.size = text_size, .color = drawing.theme().ink, .align = Align::end});
  }
  drawing.text(scene.font,
               scene.font.fitted(scene.figure.y.label, text_size, plot.height),
               {34.0, plot.top + 0.5 * plot.height},
               {.size = text_size,
                .color = drawing.theme().ink,
                .align = Align::center,
                .direction = Direction::up});
}

void draw_marks(Drawing& drawing, const Scene& scene)
{
  for (const LineMark& mark : scene.figure.marks) {
    if (!scene.shows(mark.x)) {
      continue;
    }
    const double x = scene.at(mark.x, scene.y.low()).x;
    drawing.segment({x, plot.top}, {x, plot.bottom()}, 1.4, drawing.theme().soft_ink);
    drawing.text(scene.font, mark.text, {x - 6.0, plot.bottom() - 10.0},
                 {.size = small_size,
                  .color = drawing.theme().soft_ink,
                  .direction = Direction::up,
                  .halo = drawing.theme().paper});
  }
}

void draw_curve(Drawing& drawing, const Scene& scene, const LineSeries& series,
                Color color)
{
  Stroke stroke{{}, thickness, color, std::nullopt, plot};
  if (series.style == LineStyle::dashed) {
    stroke.dash = dashes;
  }
  Dots dots{{}, dot_radius, color, plot};
  std::vector<Point> line;
  const auto finish = [&] {
    if (series.style == LineStyle::dots || line.size() == 1) {
      dots.centers.insert(dots.centers.end(), line.begin(), line.end());
    } else if (!line.empty()) {
      stroke.lines.push_back(line);
    }
    line.clear();
  };
  for (std::size_t i = 0; i < series.x.size(); ++i) {
    const Point here = scene.at(series.x[i], series.y[i]);
    if (has_place(here)) {
      line.push_back(here);
    } else {
      finish();
    }
  }
  finish();
  if (!stroke.lines.empty()) {
    drawing.stroke(stroke);
  }
  if (!dots.centers.empty()) {
    drawing.dots(dots);
  }
}

[[nodiscard]] Color color_of(const LineFigure& figure, std::size_t index)
{
  std::size_t own = 0;
  for (std::size_t i = 0; i < index; ++i) {
    own += figure.series[i].color ? 0U : 1U;
  }
  return figure.series[index].color.value_or(line_color(own));
}

void draw_legend_line(Drawing& drawing, Point start, LineStyle style, Color color)
{
  if (style == LineStyle::dots) {
    drawing.dots({{{start.x + 18.0, start.y}}, dot_radius, color, std::nullopt});
    return;
  }
  const Point end{start.x + 36.0, start.y};
  Stroke stroke{{{start, end}}, 4.0, color, std::nullopt, std::nullopt};
  if (style == LineStyle::dashed) {
    stroke.dash = {8.0, 6.0};
  }
  drawing.stroke(stroke);
}

void draw_legend(Drawing& drawing, const Scene& scene)
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
      drawing.text(scene.font, "…", {left, y + 8.0},
                   {.size = text_size, .color = drawing.theme().ink});
      return;
    }
    draw_legend_line(drawing, {left, y}, series.style,
                     drawing.theme().line(color_of(scene.figure, i)));
    drawing.text(scene.font, scene.font.fitted(series.name, text_size, room),
                 {left + 48.0, y + 8.0},
                 {.size = text_size, .color = drawing.theme().ink});
    y += legend_row;
  }
}

/// Says how many values lie below an axis whose span is bounded.
[[nodiscard]] std::vector<std::string> notes_of(const LineFigure& figure,
                                                const ScaledAxis& y_axis)
{
  std::vector<std::string> notes = figure.notes;
  if (!figure.y.widest_span || figure.y.range) {
    return notes;
  }
  std::size_t below = 0;
  for (const LineSeries& series : figure.series) {
    below += static_cast<std::size_t>(
        std::ranges::count_if(series.y, [&](double y) { return y < y_axis.low(); }));
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

VectorFigure line_picture(const LineFigure& figure)
{
  require_sound(figure);
  const auto font = std::make_shared<const Font>(find_font_file());
  const ScaledAxis x(figure.x, all_values(figure, &LineSeries::x), 0.0);
  const ScaledAxis y(figure.y, all_values(figure, &LineSeries::y), 0.05);
  const Titles titles{figure.title, figure.subtitle, notes_of(figure, y)};
  const double height =
      plot.bottom() + 100.0 + 28.0 * static_cast<double>(titles.notes.size());
  return {figure.title,
          {0.0, 0.0, figure_width, 2.0 * std::ceil(0.5 * height)},
          plot,
          [figure, font, x, y, titles](Drawing& drawing) {
            const Scene scene{figure, *font, x, y};
            draw_bands(drawing, scene);
            draw_x_ticks(drawing, scene);
            draw_y_ticks(drawing, scene);
            draw_marks(drawing, scene);
            for (std::size_t i = 0; i < figure.series.size(); ++i) {
              draw_curve(drawing, scene, figure.series[i],
                         drawing.theme().line(color_of(figure, i)));
            }
            name_bands(drawing, scene);
            draw_frame(drawing, plot, drawing.theme().ink);
            draw_legend(drawing, scene);
            draw_titles(drawing, *font, titles);
          }};
}

Canvas draw_lines(const LineFigure& figure, const Look& look)
{
  return as_pixels(line_picture(figure), look);
}

void write_lines(const LineFigure& figure, const std::filesystem::path& path,
                 const Look& look)
{
  write_figure(line_picture(figure), path, look);
}

}  // namespace torsowave::postproc
