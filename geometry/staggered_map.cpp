#include "geometry/staggered_map.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "geometry/paint_stack.hpp"

namespace torsowave::geometry {
namespace {

/// Half cells on either side of a node that the normal is taken from.
constexpr int window = 3;

/// A weight that makes the window round: (1 - r^2/R^2)^2 in half cells, R = 3.5.
[[nodiscard]] double window_weight(double x, double y)
{
  const double rest = 1.0 - (x * x + y * y) / (3.5 * 3.5);
  return rest > 0.0 ? rest * rest : 0.0;
}

/// The slice in half cells; the square around node (i, j) is its cells 2 i, 2 i + 1 by
/// 2 j, 2 j + 1.
class HalfCells {
public:
  HalfCells(TissueMap map, const std::vector<double>& contrast) : map_(std::move(map))
  {
    if (contrast.size() != map_.tissues.size()) {
      throw std::invalid_argument("one contrast is needed for each tissue of the slice");
    }
    for (const Mixture& mixture : map_.palette) {
      double mean = 0.0;
      for (const Share& share : mixture) {
        mean += contrast[share.tissue] * share.quanta / fraction_quantum;
      }
      contrast_.push_back(mean);
    }
  }

  /// Shares of the square around a node, of node_quantum in all.
  [[nodiscard]] Mixture mixture(int i, int j) const
  {
    Mixture sum;
    for (int q = 0; q < 4; ++q) {
      for (const Share& share : map_.palette[entry(2 * i + q % 2, 2 * j + q / 2)]) {
        add(sum, share);
      }
    }
    std::ranges::sort(sum, {}, &Share::tissue);
    return sum;
  }

  /// Whether the square holds one tissue alone; palette entries are compared first, which
  /// settles nearly all nodes.
  [[nodiscard]] bool is_pure(int i, int j) const
  {
    const std::size_t first = entry(2 * i, 2 * j);
    return map_.palette[first].size() == 1 && entry(2 * i + 1, 2 * j) == first &&
           entry(2 * i, 2 * j + 1) == first && entry(2 * i + 1, 2 * j + 1) == first;
  }
  [[nodiscard]] std::uint16_t tissue(int i, int j) const
  {
    return map_.palette[entry(2 * i, 2 * j)].front().tissue;
  }

  /// Direction of the first moment of the contrast about a node, or, where that vanishes
  /// (a thin layer through the node), of its slopes' second moment.
  [[nodiscard]] Point normal(int i, int j) const
  {
    double all = 0.0;
    double xx_minus_yy = 0.0;
    double xy = 0.0;
    Point moment;
    for (int b = -window; b < window; ++b) {
      for (int a = -window; a < window; ++a) {
        const double x = a + 0.5;
        const double y = b + 0.5;
        const double w = window_weight(x, y);
        const double value = at(2 * i + 1 + a, 2 * j + 1 + b);
        all += w * std::abs(value);
        moment.x += w * value * x;
        moment.y += w * value * y;
        const double slope_x = at(2 * i + 2 + a, 2 * j + 1 + b) - value;
        const double slope_y = at(2 * i + 1 + a, 2 * j + 2 + b) - value;
        xx_minus_yy += w * (slope_x * slope_x - slope_y * slope_y);
        xy += w * slope_x * slope_y;
      }
    }
    const double size = std::hypot(moment.x, moment.y);
    if (size > 1e-3 * all) {
      return {moment.x / size, moment.y / size};
    }
    const double angle = 0.5 * std::atan2(2.0 * xy, xx_minus_yy);
    return {std::cos(angle), std::sin(angle)};
  }

private:
  static void add(Mixture& sum, const Share& share)
  {
    const auto same = std::ranges::find(sum, share.tissue, &Share::tissue);
    if (same == sum.end()) {
      sum.push_back(share);
    } else {
      same->quanta = static_cast<std::uint16_t>(same->quanta + share.quanta);
    }
  }

  [[nodiscard]] double at(int i, int j) const { return contrast_[entry(i, j)]; }

  [[nodiscard]] std::size_t entry(int i, int j) const
  {
    const int column = std::clamp(i, 0, map_.raster.nx - 1);
    const int row = std::clamp(j, 0, map_.raster.ny - 1);
    return map_.cells[map_.raster.at(column, row)];
  }

  TissueMap map_;
  std::vector<double> contrast_;  ///< by palette entry
};

/// Mean of `contrast` along straight lines.
class LineMeans {
public:
  LineMeans(const PaintStack& stack, const std::vector<double>& contrast)
      : stack_(stack), contrast_(contrast)
  {
  }

  /// Looks at `looks` points at equal steps; between two that differ the interface is
  /// found by halving. What is thinner than a step can be missed.
  [[nodiscard]] double mean(Point from, Point to) const
  {
    constexpr int looks = 16;
    const auto at = [&](double t) {
      return Point{from.x + t * (to.x - from.x), from.y + t * (to.y - from.y)};
    };
    double sum = 0.0;
    std::uint16_t before = stack_.tissue_at(at(0.0));
    for (int n = 1; n <= looks; ++n) {
      const std::uint16_t now = stack_.tissue_at(at(n / static_cast<double>(looks)));
      double part = 0.5;
      if (now != before) {
        part = crossing(at, (n - 1.0) / looks, n / static_cast<double>(looks), before) *
                   looks -
               (n - 1.0);
      }
      sum += part * contrast_[before] + (1.0 - part) * contrast_[now];
      before = now;
    }
    return sum / looks;
  }

private:
  template <class At>
  [[nodiscard]] double crossing(const At& at, double low, double high,
                                std::uint16_t tissue) const
  {
    for (int n = 0; n < 12; ++n) {
      const double middle = 0.5 * (low + high);
      (stack_.tissue_at(at(middle)) == tissue ? low : high) = middle;
    }
    return 0.5 * (low + high);
  }

  const PaintStack& stack_;
  const std::vector<double>& contrast_;
};

/// Contrasts along the sides of the square around a node.
void measure_sides(const LineMeans& lines, const Raster& raster,
                   const std::vector<double>& contrast, MixedNode& node)
{
  const double left = raster.x_of(node.i - 0.5);
  const double right = raster.x_of(node.i + 0.5);
  const double low = raster.y_of(node.j - 0.5);
  const double high = raster.y_of(node.j + 0.5);
  double mean = 0.0;
  for (const Share& share : node.mixture) {
    mean += contrast[share.tissue] * share.quanta / node_quantum;
  }
  node.sides = {lines.mean({left, low}, {left, high}) / mean,
                lines.mean({right, low}, {right, high}) / mean,
                lines.mean({left, low}, {right, low}) / mean,
                lines.mean({left, high}, {right, high}) / mean};
}

void find_nodes(const HalfCells& halves, StaggeredMap& map)
{
  for (int j = 0; j <= map.raster.ny; ++j) {
    for (int i = 0; i <= map.raster.nx; ++i) {
      if (halves.is_pure(i, j)) {
        map.nodes.push_back(halves.tissue(i, j));
        continue;
      }
      Mixture mixture = halves.mixture(i, j);
      if (mixture.size() == 1) {  // the same tissue in four palette entries
        map.nodes.push_back(mixture.front().tissue);
        continue;
      }
      map.nodes.push_back(mixed_node);
      map.mixed.push_back({i, j, std::move(mixture), halves.normal(i, j), {}});
    }
  }
}

}  // namespace

StaggeredMap cut_staggered(const Raster& raster, const std::string& background,
                           const std::vector<Shape>& shapes,
                           const std::vector<Shape>& capsules, Averaging averaging,
                           const std::vector<double>& contrast)
{
  const double half = 0.5 * raster.cell;
  const Raster x_edges{
      raster.nx, raster.ny + 1, raster.cell, {raster.corner.x, raster.corner.y - half}};
  const Raster y_edges{
      raster.nx + 1, raster.ny, raster.cell, {raster.corner.x - half, raster.corner.y}};
  StaggeredMap map;
  map.raster = raster;
  TissueMap at_x = voxelise(x_edges, background, shapes, capsules, Averaging::none);
  map.tissues = std::move(at_x.tissues);
  map.x_edges = std::move(at_x.labels);
  map.y_edges = voxelise(y_edges, background, shapes, capsules, Averaging::none).labels;
  if (averaging == Averaging::volume) {
    const Raster halves{2 * (raster.nx + 1),
                        2 * (raster.ny + 1),
                        half,
                        {raster.corner.x - half, raster.corner.y - half}};
    find_nodes(
        HalfCells(voxelise(halves, background, shapes, capsules, averaging), contrast),
        map);
    const PaintStack stack(background, shapes, capsules);
    const LineMeans lines(stack, contrast);
    for (MixedNode& node : map.mixed) {
      measure_sides(lines, raster, contrast, node);
    }
  }
  return map;
}

}  // namespace torsowave::geometry
