#include "geometry/sectors.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "geometry/skin_finder.hpp"

namespace torsowave::geometry {
namespace {

/// The ends of an edge, counter-clockwise about the inside [m].
struct EdgeEnds {
  Point first;
  Point second;
};

[[nodiscard]] EdgeEnds ends_of(const Raster& raster, const ContourEdge& edge)
{
  // From the middle half a cell to the right of the normal, and to its left.
  const auto node = [&](int side) -> Point {
    return {raster.x_of(edge.i + 0.5 + 0.5 * (edge.di - side * edge.dj)),
            raster.y_of(edge.j + 0.5 + 0.5 * (edge.dj + side * edge.di))};
  };
  return {node(-1), node(1)};
}

/// Where on a ray fields are sampled [cells from the skin].
struct SamplePlan {
  double nearest = 0.0;  ///< of the first sample
  double farthest = 0.0;
  double step = 0.0;  ///< at least; 0: one sample
};

/// The first that has room. By measurement: nearer to the skin TEz fields still show its
/// steps, and farther away a parabola is less like the flow.
constexpr std::array<SamplePlan, 3> sample_plans{
    {{3.0, 5.0, 2.0}, {2.0, 3.0, 1.0}, {2.0, 3.0, 0.0}}};

class Cutter {
public:
  Cutter(const TissueMap& map, const Body& body, const std::vector<std::uint8_t>& limit,
         Point centre, int count)
      : raster_(map.raster),
        body_(body),
        skin_(map, body),
        limit_(limit),
        centre_(centre),
        count_(count)
  {
  }

  void cut(std::size_t edge, const ContourEdge& at, Sectors& sectors) const
  {
    const EdgeEnds ends = ends_of(raster_, at);
    const double first = turn(ends.first);
    // The short way round, also where angles jump from pi to -pi.
    const double second = first + std::remainder(turn(ends.second) - first, count_);
    const int step = second > first ? 1 : -1;
    const int begin = sector_of(ends.first);
    const int apart = std::abs(sector_of(ends.second) - begin);
    const int rays = std::min(apart, count_ - apart);
    sectors.of_edge.push_back(begin);
    for (int n = 0, from = begin; n < rays; ++n, from += step) {
      const double ray = (step > 0 ? from + 0.5 : from - 0.5) / count_;
      sectors.ends.push_back(end_at(edge, at, ends, 2.0 * std::numbers::pi * ray));
      sectors.ends.back().from = wrapped(from);
      sectors.ends.back().to = wrapped(from + step);
    }
  }

private:
  /// Sectors from the one at angle 0 to a point, counted from the beginning of that one.
  [[nodiscard]] double turn(Point at) const
  {
    const double angle = std::atan2(at.y - centre_.y, at.x - centre_.x);
    return 0.5 + count_ * angle / (2.0 * std::numbers::pi);
  }
  [[nodiscard]] int wrapped(int sector) const
  {
    return ((sector % count_) + count_) % count_;
  }
  [[nodiscard]] int sector_of(Point at) const
  {
    return wrapped(static_cast<int>(std::floor(turn(at))));
  }

  /// Across the ray, counter-clockwise positive [m].
  [[nodiscard]] double off(Point at, Point ray) const
  {
    return ray.x * (at.y - centre_.y) - ray.y * (at.x - centre_.x);
  }

  [[nodiscard]] SectorEnd end_at(std::size_t edge, const ContourEdge& at,
                                 const EdgeEnds& ends, double angle) const
  {
    const Point ray{std::cos(angle), std::sin(angle)};
    const double before = off(ends.first, ray);
    const double after = off(ends.second, ray);
    const double part =
        before == after ? 0.5 : std::clamp(before / (before - after), 0.0, 1.0);
    const Point crossing{ends.first.x + part * (ends.second.x - ends.first.x),
                         ends.first.y + part * (ends.second.y - ends.first.y)};
    const bool is_outward = ray.x * at.di + ray.y * at.dj >= 0.0;
    SectorEnd end;
    end.edge = edge;
    end.behind = 1.0 - part;
    end.away = is_outward ? ray : Point{-ray.x, -ray.y};
    find_skin(crossing, end);
    return end;
  }

  void find_skin(Point crossing, SectorEnd& end) const
  {
    const auto gap = skin_.distance(crossing, {-end.away.x, -end.away.y});
    if (!gap) {
      return;
    }
    end.skin = {crossing.x - *gap * end.away.x, crossing.y - *gap * end.away.y};
    for (const SamplePlan& plan : sample_plans) {
      for (double first = plan.nearest; first <= plan.farthest; first += 0.5) {
        end.first_sample = first * raster_.cell;
        end.sample_step = plan.step == 0.0 ? 0.0
                                           : std::max(plan.step * raster_.cell,
                                                      0.5 * (*gap - end.first_sample));
        if (is_clear(end)) {
          end.gap = *gap;
          return;
        }
      }
    }
  }

  [[nodiscard]] bool is_clear(const SectorEnd& end) const
  {
    for (int n = 0; n < 3; ++n) {
      const double d = end.first_sample + n * end.sample_step;
      const double x = (end.skin.x + d * end.away.x - raster_.corner.x) / raster_.cell;
      const double y = (end.skin.y + d * end.away.y - raster_.corner.y) / raster_.cell;
      if (!may_sample(static_cast<int>(std::floor(x)), static_cast<int>(std::floor(y)))) {
        return false;
      }
    }
    return true;
  }

  /// Fields are taken between the centres and edges of nine cells.
  [[nodiscard]] bool may_sample(int i, int j) const
  {
    if (i < 1 || j < 1 || i > raster_.nx - 2 || j > raster_.ny - 2 ||
        any_near(raster_, body_.cells, i, j, 1)) {
      return false;
    }
    for (const int row : {j - 1, j + 1}) {
      for (const int column : {i - 1, i + 1}) {
        if (limit_[raster_.at(column, row)] == 0) {
          return false;
        }
      }
    }
    return true;
  }

  const Raster& raster_;
  const Body& body_;
  SkinFinder skin_;
  const std::vector<std::uint8_t>& limit_;
  Point centre_;
  int count_;
};

}  // namespace

Sectors cut_sectors(const TissueMap& map, const Body& body, const Contour& contour,
                    const std::vector<std::uint8_t>& limit, Point centre, int count)
{
  Sectors sectors;
  sectors.count = count;
  sectors.of_edge.reserve(contour.edges.size());
  const Cutter cutter(map, body, limit, centre, count);
  for (std::size_t e = 0; e < contour.edges.size(); ++e) {
    cutter.cut(e, contour.edges[e], sectors);
  }
  return sectors;
}

}  // namespace torsowave::geometry
