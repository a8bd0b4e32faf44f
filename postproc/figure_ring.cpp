#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "postproc/body_distance.hpp"
#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/figure_raster.hpp"

namespace torsowave::postproc {
namespace {

constexpr double largest_span = 40.0;  // [dB]
constexpr Color inward_color{128, 132, 140};
constexpr double gap_width = 8.0;    // between body and ring, on the page
constexpr double ring_width = 26.0;  // on the page
constexpr double pale = 0.55;        // of the tissues' colours under the ring

/// Levels of the sectors by angle, and their colours.
struct Ring {
  std::vector<double> level;  ///< [dB re 1 W/m]; not-a-number where power flows in
  Range range;
  std::size_t inward = 0;

  [[nodiscard]] Color color(std::size_t sector) const
  {
    const double value = level[sector];
    return std::isfinite(value)
               ? sequential_color((value - range.low) / (range.high - range.low))
               : inward_color;
  }
};

[[nodiscard]] Ring ring_of(const Result& result, std::size_t frequency)
{
  const FrequencyResult& at = result.frequencies[frequency];
  if (at.sector_power.empty()) {
    throw std::invalid_argument(
        "the result has no body-surface power by sector (the body may reach the "
        "absorbing boundary, or no sectors were asked for)");
  }
  require_size(fmt::format("sector powers at {}", frequency_text(at.frequency)),
               at.sector_power.size(), result.sector_angle_deg.size());
  Ring ring;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const double power : at.sector_power) {
    const double level =
        power > 0.0 ? 10.0 * std::log10(power) : std::numeric_limits<double>::quiet_NaN();
    ring.level.push_back(level);
    ring.inward += power > 0.0 ? 0U : 1U;
    low = std::fmin(low, level);
    high = std::fmax(high, level);
  }
  if (low > high) {
    low = high = 0.0;  // power flows in everywhere
  }
  const double top = 5.0 * std::ceil(high / 5.0 - 1e-9);
  ring.range = {
      std::max(top - largest_span, std::min(top - 5.0, 5.0 * std::floor(low / 5.0))),
      top};
  return ring;
}

/// Means over seven cells in steps of `step` through a plane of rows of `nx`; near its
/// rim the values stay.
[[nodiscard]] std::vector<double> smoothed(const std::vector<double>& values,
                                           std::size_t nx, std::size_t step)
{
  constexpr std::size_t reach = 3;
  const std::size_t ny = values.size() / nx;
  const std::size_t length = step == 1 ? nx : ny;
  std::vector<double> result = values;
  for (std::size_t cell = 0; cell < values.size(); ++cell) {
    const std::size_t place = step == 1 ? cell % nx : cell / nx;
    if (place < reach || place + reach >= length) {
      continue;
    }
    double sum = 0.0;
    for (std::size_t k = 0; k <= 2 * reach; ++k) {
      sum += values[cell + k * step - reach * step];
    }
    result[cell] = sum / (2.0 * reach + 1.0);
  }
  return result;
}

/// Draws what lies between two distances from the body in the colours of the sectors.
class RingPainter {
public:
  RingPainter(const Result& result, const Ring& ring, const SliceLayout& layout)
      : result_(result), ring_(ring), layout_(layout), body_(body_distance(result))
  {
    // The body's outline goes in steps of a cell; the ring need not.
    const auto nx = static_cast<std::size_t>(result.grid.nx);
    body_.cells = smoothed(body_.cells, nx, 1);
    body_.cells = smoothed(body_.cells, nx, nx);
  }

  void paint(Canvas& canvas) const
  {
    const Box map = canvas.scale().of(layout_.map);
    const int right = static_cast<int>(std::lround(map.right()));
    const int bottom = static_cast<int>(std::lround(map.bottom()));
    for (int y = static_cast<int>(std::lround(map.top)); y < bottom; ++y) {
      for (int x = static_cast<int>(std::lround(map.left)); x < right; ++x) {
        paint_pixel(canvas, x, y, (x + 0.5 - map.left) / map.width,
                    (map.bottom() - y - 0.5) / map.height);
      }
    }
  }

private:
  /// \param u  along x, \param v  along y, 0 ... 1 of the slice
  void paint_pixel(Canvas& canvas, int x, int y, double u, double v) const
  {
    const GridInfo& grid = result_.grid;
    const double cell = layout_.map.width / grid.nx * canvas.scale().factor;  // [px]
    const double out = cell * distance(u * grid.nx - 0.5, v * grid.ny - 0.5);
    const double inner = gap_width * canvas.scale().factor;
    const double outer = inner + ring_width * canvas.scale().factor;
    const double cover = std::clamp(0.5 + std::min(out - inner, outer - out), 0.0, 1.0);
    if (cover > 0.0) {
      canvas.blend(x, y, ring_.color(sector(u, v)), static_cast<float>(cover));
    }
  }

  /// Between the four nearest cells [cells].
  [[nodiscard]] double distance(double column, double row) const
  {
    const GridInfo& grid = result_.grid;
    const double x = std::clamp(column, 0.0, grid.nx - 1.001);
    const double y = std::clamp(row, 0.0, grid.ny - 1.001);
    const auto i = static_cast<std::size_t>(x);
    const auto j = static_cast<std::size_t>(y);
    const double a = x - static_cast<double>(i);
    const double b = y - static_cast<double>(j);
    const auto at = [&](std::size_t di, std::size_t dj) {
      return body_.cells[(j + dj) * static_cast<std::size_t>(grid.nx) + i + di];
    };
    return (1.0 - b) * ((1.0 - a) * at(0, 0) + a * at(1, 0)) +
           b * ((1.0 - a) * at(0, 1) + a * at(1, 1));
  }

  /// Sectors lie about their angles, half of each on either side.
  [[nodiscard]] std::size_t sector(double u, double v) const
  {
    const double x = layout_.x.low + u * (layout_.x.high - layout_.x.low);
    const double y = layout_.y.low + v * (layout_.y.high - layout_.y.low);
    const double turn = std::atan2(y - body_.centroid.y, x - body_.centroid.x) /
                            (2.0 * std::numbers::pi) -
                        result_.sector_angle_deg.front() / 360.0;
    const auto count = static_cast<double>(ring_.level.size());
    const double place = count * (turn - std::floor(turn)) + 0.5;
    return static_cast<std::size_t>(place) % ring_.level.size();
  }

  const Result& result_;
  const Ring& ring_;
  const SliceLayout& layout_;
  BodyDistance body_;
};

[[nodiscard]] Color mixed(Color color, Color paper)
{
  const auto channel = [](std::uint8_t a, std::uint8_t b) {
    return static_cast<std::uint8_t>(std::lround(pale * a + (1.0 - pale) * b));
  };
  return {channel(color.red, paper.red), channel(color.green, paper.green),
          channel(color.blue, paper.blue)};
}

[[nodiscard]] CellColors pale_tissues(const Result& result, const Theme& theme)
{
  CellColors cells{result.grid.nx, result.grid.ny, 1, {}};
  for (const std::uint16_t label : result.labels) {
    cells.colors.push_back(mixed(tissue_on(theme, label), theme.paper));
  }
  return cells;
}

[[nodiscard]] Titles titles_of(const Result& result, const Ring& ring,
                               std::size_t frequency)
{
  Titles titles{fmt::format("Net power out of the body’s surface at {}",
                            frequency_text(result.frequencies[frequency].frequency)),
                fmt::format("{}; {} sectors", describe(result), ring.level.size()),
                {}};
  if (ring.inward > 0) {
    titles.notes.push_back(fmt::format("Grey: no net power outward, in {} of {} sectors.",
                                       ring.inward, ring.level.size()));
  }
  titles.notes.emplace_back(caution);
  return titles;
}

}  // namespace

void draw_surface_ring(const Result& result, std::size_t frequency,
                       const std::filesystem::path& path, const Look& look)
{
  require_tissues(result);
  require_frequency(result, frequency);
  const Ring ring = ring_of(result, frequency);
  const Titles titles = titles_of(result, ring, frequency);
  const SliceLayout layout =
      slice_layout(result.grid, {.notes = static_cast<int>(titles.notes.size())});
  const Font font(find_font_file());
  Canvas canvas = layout.canvas(look);
  paint_cells(canvas, layout.map, pale_tissues(result, look.theme));
  Coverage outlines(canvas);
  add_outlines(outlines, layout.map, result.grid.nx, result.grid.ny, result.labels, 1.2);
  canvas.paint(outlines, dark_line, 0.35, layout.map);
  RingPainter(result, ring, layout).paint(canvas);
  draw_slice_axes(canvas, font, layout);
  draw_scale_bar(canvas, font, layout, layout.map.bottom() + 22.0);
  draw_implant(canvas, font, layout, result, false);
  draw_color_bar(
      canvas, font, layout.map,
      {ring.range,
       fmt::format("power per sector [dB re 1 W/m per ({})²]", result.source.unit),
       [&](double level) {
         return sequential_color((level - ring.range.low) /
                                 (ring.range.high - ring.range.low));
       }});
  draw_titles(canvas, font, titles);
  write_png(canvas, path);
}

}  // namespace torsowave::postproc
