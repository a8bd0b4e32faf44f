#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <limits>
#include <stdexcept>

#include "postproc/field_picture.hpp"
#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_png.hpp"

namespace torsowave::postproc {
namespace {

constexpr double shown_span = 60.0;     // [dB]
constexpr double arrow_spacing = 40.0;  // on the page
constexpr double longest_arrow = 32.0;
constexpr double shortest_arrow = 11.0;
constexpr double top_share = 0.999;  // keeps the source's own cells from the top

struct Flow {
  double x = 0.0;  ///< [W/m^2]
  double y = 0.0;
  [[nodiscard]] double size() const { return std::hypot(x, y); }
};

/// The three fields of a mode at one frequency.
class Fields {
public:
  /// \throws std::invalid_argument  Not all of them are stored.
  Fields(const Result& result, std::size_t frequency)
      : tez_(result.mode == "TEz"),
        first_(frequency * cell_count(result.grid)),
        across_(find(result, tez_ ? "Hz" : "Ez")),
        along_x_(find(result, tez_ ? "Ex" : "Hx")),
        along_y_(find(result, tez_ ? "Ey" : "Hy"))
  {
  }

  /// 1/2 Re(E x H*): TMz Sx = -1/2 Re(Ez Hy*), Sy = 1/2 Re(Ez Hx*); TEz Sx = 1/2 Re(Ey
  /// Hz*), Sy = -1/2 Re(Ex Hz*) (J. H. Poynting, Phil. Trans. 175 (1884) 343).
  [[nodiscard]] Flow at(std::size_t cell) const
  {
    const auto product = [&](const PhasorField& field) {
      const std::complex<double> z(across_.values[first_ + cell]);
      const std::complex<double> other(field.values[first_ + cell]);
      return 0.5 * std::real(z * std::conj(other));
    };
    const double sign = tez_ ? 1.0 : -1.0;
    return {sign * product(along_y_), -sign * product(along_x_)};
  }

private:
  [[nodiscard]] static const PhasorField& find(const Result& result, const char* name)
  {
    const auto found = std::ranges::find(result.phasors, name, &PhasorField::name);
    if (found == result.phasors.end()) {
      throw std::invalid_argument(
          fmt::format("the power flow needs the phasors of {}, and {} is not stored",
                      result.mode == "TEz" ? "Hz, Ex and Ey" : "Ez, Hx and Hy", name));
    }
    require_size(fmt::format("phasor field {}", name), found->values.size(),
                 result.frequencies.size() * cell_count(result.grid));
    return *found;
  }

  bool tez_;
  std::size_t first_;
  const PhasorField& across_;
  const PhasorField& along_x_;
  const PhasorField& along_y_;
};

[[nodiscard]] std::vector<Flow> flows_of(const Result& result, std::size_t frequency)
{
  const Fields fields(result, frequency);
  std::vector<Flow> flows(cell_count(result.grid));
  for (std::size_t cell = 0; cell < flows.size(); ++cell) {
    flows[cell] = fields.at(cell);
  }
  return flows;
}

[[nodiscard]] double top_level(const std::vector<Flow>& flows)
{
  std::vector<double> sizes;
  for (const Flow& flow : flows) {
    if (std::isfinite(flow.size()) && flow.size() > 0.0) {
      sizes.push_back(flow.size());
    }
  }
  return sizes.empty()
             ? 0.0
             : 5.0 * std::ceil(2.0 * std::log10(percentile(sizes, top_share)) - 1e-9);
}

/// Adds an arrow about `middle`; \param direction  of the page, a unit vector
void add_arrow(Coverage& lines, Point middle, Point direction, double length,
               double thickness)
{
  const auto at = [&](double along, double aside) {
    return Point{middle.x + along * direction.x - aside * direction.y,
                 middle.y + along * direction.y + aside * direction.x};
  };
  const double half = 0.5 * length;
  const double barb = std::min(0.45 * length, 9.0);
  lines.add_segment(at(-half, 0.0), at(half, 0.0), thickness);
  lines.add_segment(at(half - barb, 0.6 * barb), at(half, 0.0), thickness);
  lines.add_segment(at(half - barb, -0.6 * barb), at(half, 0.0), thickness);
}

/// The cell under a place of the page; empty inside the absorbing layer.
[[nodiscard]] std::optional<std::size_t> cell_at(const GridInfo& grid, const Box& map,
                                                 Point place)
{
  const int i = static_cast<int>((place.x - map.left) / map.width * grid.nx);
  const int j = static_cast<int>((map.bottom() - place.y) / map.height * grid.ny);
  const int rim = grid.absorbing_cells;
  if (i < rim || j < rim || i >= grid.nx - rim || j >= grid.ny - rim) {
    return std::nullopt;
  }
  return static_cast<std::size_t>(j) * static_cast<std::size_t>(grid.nx) +
         static_cast<std::size_t>(i);
}

void draw_arrows(Canvas& canvas, const Result& result, const Box& map,
                 const std::vector<Flow>& flows, double top)
{
  Coverage rim(canvas);
  Coverage arrows(canvas);
  for (double y = map.top + 0.5 * arrow_spacing; y < map.bottom(); y += arrow_spacing) {
    for (double x = map.left + 0.5 * arrow_spacing; x < map.right(); x += arrow_spacing) {
      const auto cell = cell_at(result.grid, map, {x, y});
      const Flow flow = cell ? flows[*cell] : Flow{};
      const double level = 10.0 * std::log10(flow.size());
      if (!std::isfinite(level) || level < top - shown_span) {
        continue;
      }
      const double share = std::min(1.0, 1.0 + (level - top) / shown_span);
      const double length = shortest_arrow + share * (longest_arrow - shortest_arrow);
      const Point direction{flow.x / flow.size(), -flow.y / flow.size()};
      add_arrow(rim, {x, y}, direction, length, 4.4);
      add_arrow(arrows, {x, y}, direction, length, 2.2);
    }
  }
  canvas.paint(rim, dark_line, 0.55, map);
  canvas.paint(arrows, light_line, 1.0, map);
}

}  // namespace

void draw_power_flow(const Result& result, std::size_t frequency,
                     const std::filesystem::path& path, const Look& look)
{
  require_tissues(result);
  require_frequency(result, frequency);
  const std::vector<Flow> flows = flows_of(result, frequency);
  const double top = top_level(flows);
  ColorScale scale;
  scale.range = {top - shown_span, top};
  scale.label = fmt::format("power flow [dB re 1 W/m² per ({})²]", result.source.unit);
  scale.color_of = [top](double level) {
    return sequential_color(1.0 + (level - top) / shown_span);
  };
  const std::string title =
      fmt::format("Time-averaged power flow at {}",
                  frequency_text(result.frequencies[frequency].frequency));
  const FieldPicture picture(result, 1, scale, {title, describe(result), {caution}},
                             MapTone::dark, look);
  std::vector<double> levels;
  levels.reserve(flows.size());
  for (const Flow& flow : flows) {
    levels.push_back(10.0 * std::log10(flow.size()));
  }
  Canvas canvas = picture.paint(levels);
  draw_arrows(canvas, result, picture.layout().map, flows, top);
  write_png(canvas, path);
}

}  // namespace torsowave::postproc
