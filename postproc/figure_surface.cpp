#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/vector_figure.hpp"

namespace torsowave::postproc {
namespace {

constexpr double figure_width = 1400.0;
constexpr Box plot{116.0, 104.0, 1040.0, 560.0};  // [px]
constexpr double text_size = 22.0;
constexpr double largest_span = 80.0;  // the axis shows no more than this [dB]
constexpr double gap = std::numeric_limits<double>::quiet_NaN();

/// One frequency's levels around the body, by rising angle.
struct Curve {
  std::string name;
  std::vector<double> angle;  ///< [deg], 0 <= angle < 360
  std::vector<double> level;  ///< [dB re 1 W/m]; not-a-number where power flows in
  std::size_t inward = 0;     ///< sectors with net inflow
  Color color{};
};

[[nodiscard]] Curve make_curve(const Result& result, const FrequencyResult& frequency)
{
  const std::vector<double>& angles = result.sector_angle_deg;
  require_size(fmt::format("sector powers at {}", frequency_text(frequency.frequency)),
               frequency.sector_power.size(), angles.size());
  std::vector<std::pair<double, double>> sectors;
  for (std::size_t s = 0; s < angles.size(); ++s) {
    const double turned = std::fmod(angles[s], 360.0);
    sectors.emplace_back(turned < 0.0 ? turned + 360.0 : turned,
                         frequency.sector_power[s]);
  }
  std::sort(sectors.begin(), sectors.end());
  Curve curve;
  curve.name = frequency_text(frequency.frequency);
  for (const auto& [angle, power] : sectors) {
    curve.angle.push_back(angle);
    curve.level.push_back(power > 0.0 ? 10.0 * std::log10(power) : gap);
    curve.inward += power < 0.0 ? 1U : 0U;
  }
  return curve;
}

/// Curves from dark violet to green in the order of their frequencies.
[[nodiscard]] std::vector<Curve> make_curves(const Result& result)
{
  std::vector<Curve> curves;
  for (const FrequencyResult& frequency : result.frequencies) {
    if (!frequency.sector_power.empty()) {
      curves.push_back(make_curve(result, frequency));
    }
  }
  if (curves.empty() || result.sector_angle_deg.empty()) {
    throw std::invalid_argument(
        "the result has no body-surface power by sector (the body may reach the "
        "absorbing "
        "boundary, or no sectors were asked for)");
  }
  const double last = std::max(1.0, static_cast<double>(curves.size()) - 1.0);
  for (std::size_t c = 0; c < curves.size(); ++c) {
    curves[c].color = sequential_color(0.75 * static_cast<double>(c) / last);
  }
  return curves;
}

[[nodiscard]] Range level_range(const std::vector<Curve>& curves)
{
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const Curve& curve : curves) {
    for (const double level : curve.level) {
      if (std::isfinite(level)) {
        low = std::min(low, level);
        high = std::max(high, level);
      }
    }
  }
  if (low > high) {
    return {-10.0, 0.0};  // power flows in everywhere: nothing but gaps
  }
  const double top = 5.0 * std::ceil(high / 5.0 + 0.2);
  const double bottom = 5.0 * std::floor(low / 5.0 - 0.2);
  return {std::max(bottom, top - largest_span), top};
}

[[nodiscard]] double column(double angle)
{
  return plot.left + plot.width * angle / 360.0;
}

[[nodiscard]] double line(double level, const Range& range)
{
  return plot.bottom() - plot.height * (level - range.low) / (range.high - range.low);
}

void draw_level_axis(Drawing& drawing, const Font& font, const Range& range,
                     const SourceInfo& source)
{
  const std::vector<double> ticks = round_ticks(range, 11);
  const std::vector<std::string> texts = tick_texts(ticks);
  for (std::size_t k = 0; k < ticks.size(); ++k) {
    const double y = line(ticks[k], range);
    drawing.segment({plot.left, y}, {plot.right(), y}, 1.0, drawing.theme().grid_line);
    drawing.text(font, texts[k], {plot.left - 12.0, y + 0.36 * text_size},
                 {.size = text_size, .color = drawing.theme().ink, .align = Align::end});
  }
  drawing.text(font, fmt::format("power per sector [dB re 1 W/m per ({})²]", source.unit),
               {34.0, plot.top + 0.5 * plot.height},
               {.size = text_size,
                .color = drawing.theme().ink,
                .align = Align::center,
                .direction = Direction::up});
}

void draw_angle_axis(Drawing& drawing, const Font& font)
{
  for (int angle = 0; angle <= 360; angle += 30) {
    const double x = column(angle);
    drawing.segment({x, plot.top}, {x, plot.bottom()}, angle % 90 == 0 ? 1.6 : 1.0,
                    drawing.theme().grid_line);
    drawing.text(
        font, fmt::format("{}", angle), {x, plot.bottom() + 29.0},
        {.size = text_size, .color = drawing.theme().ink, .align = Align::center});
  }
  constexpr std::array<const char*, 5> sides = {"left", "front", "right", "back", "left"};
  double angle = 0.0;
  for (const char* side : sides) {
    drawing.text(
        font, side, {column(angle), plot.bottom() + 56.0},
        {.size = text_size, .color = drawing.theme().soft_ink, .align = Align::center});
    angle += 90.0;
  }
  drawing.text(font, "angle about the body’s centroid [°], sides of the patient",
               {plot.left + 0.5 * plot.width, plot.bottom() + 92.0},
               {.size = text_size, .color = drawing.theme().ink, .align = Align::center});
}

/// Joins neighbouring sectors, once more around at both ends; a sector between two gaps
/// still shows as a dot.
void draw_curve(Drawing& drawing, const Curve& curve, const Range& range)
{
  const Color color = drawing.theme().line(curve.color);
  const std::size_t count = curve.angle.size();
  Stroke stroke{{}, 2.6, color, std::nullopt, plot};
  Dots dots{{}, count <= 90 ? 4.0 : 1.4, color, plot};
  for (std::size_t s = 0; s < count; ++s) {
    const std::size_t next = (s + 1) % count;
    if (!std::isfinite(curve.level[s])) {
      continue;
    }
    const Point here{column(curve.angle[s]), line(curve.level[s], range)};
    dots.centers.push_back(here);
    if (count > 1 && std::isfinite(curve.level[next])) {
      const Point there{column(curve.angle[next] + (next < s ? 360.0 : 0.0)),
                        line(curve.level[next], range)};
      stroke.lines.push_back({here, there});
      if (next < s) {
        stroke.lines.push_back(
            {{here.x - plot.width, here.y}, {there.x - plot.width, there.y}});
      }
    }
  }
  drawing.stroke(stroke);
  drawing.dots(dots);
}

void draw_legend(Drawing& drawing, const Font& font, const std::vector<Curve>& curves)
{
  constexpr std::size_t rows = 17;
  const double left = plot.right() + 28.0;
  double y = plot.top + 16.0;
  for (std::size_t c = 0; c < curves.size(); ++c, y += 32.0) {
    if (c + 1 == rows && curves.size() > rows) {
      drawing.text(font, fmt::format("… {}", curves.back().name), {left + 48.0, y + 8.0},
                   {.size = text_size, .color = drawing.theme().ink});
      drawing.segment({left, y}, {left + 36.0, y}, 4.0,
                      drawing.theme().line(curves.back().color));
      return;
    }
    drawing.segment({left, y}, {left + 36.0, y}, 4.0,
                    drawing.theme().line(curves[c].color));
    drawing.text(font, curves[c].name, {left + 48.0, y + 8.0},
                 {.size = text_size, .color = drawing.theme().ink});
  }
}

/// Says what the curves leave out, line by line.
[[nodiscard]] std::vector<std::string> omissions(const std::vector<Curve>& curves,
                                                 const Range& range)
{
  std::string inward;
  std::size_t below = 0;
  for (const Curve& curve : curves) {
    if (curve.inward > 0) {
      inward += fmt::format("{}{} of {} at {}", inward.empty() ? "" : ", ", curve.inward,
                            curve.angle.size(), curve.name);
    }
    below += static_cast<std::size_t>(
        std::count_if(curve.level.begin(), curve.level.end(),
                      [&](double level) { return level < range.low; }));
  }
  std::vector<std::string> notes;
  if (!inward.empty()) {
    notes.push_back(fmt::format("Left out: sectors with net power inward, {}.", inward));
  }
  if (below > 0) {
    notes.push_back(
        fmt::format("The axis ends {:.0f} dB below its top; {} values lie lower.",
                    largest_span, below));
  }
  return notes;
}

}  // namespace

void draw_surface_power(const Result& result, const std::filesystem::path& path,
                        const Look& look)
{
  const std::vector<Curve> curves = make_curves(result);
  const Range range = level_range(curves);
  const Font font(find_font_file());
  Titles titles{"Net power out of the body’s surface by angle", describe(result), {}};
  titles.subtitle += fmt::format("; {} sectors", result.sector_angle_deg.size());
  titles.notes = omissions(curves, range);
  titles.notes.emplace_back(caution);
  const double height =
      plot.bottom() + 126.0 + 28.0 * static_cast<double>(titles.notes.size());
  const auto draw = [&](Drawing& drawing) {
    draw_level_axis(drawing, font, range, result.source);
    draw_angle_axis(drawing, font);
    for (const Curve& curve : curves) {
      draw_curve(drawing, curve, range);
    }
    draw_frame(drawing, plot, drawing.theme().ink);
    draw_legend(drawing, font, curves);
    draw_titles(drawing, font, titles);
  };
  write_figure({titles.title, {0.0, 0.0, figure_width, height}, plot, draw}, path, look);
}

}  // namespace torsowave::postproc
