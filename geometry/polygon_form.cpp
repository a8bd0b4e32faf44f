#include "geometry/outline_forms.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

namespace torsowave::geometry {
namespace {

Segment edge_of(const PolygonRegion& polygon, std::size_t k) noexcept
{
  const std::size_t next = k + 1 == polygon.points.size() ? 0 : k + 1;
  return {polygon.points[k], polygon.points[next]};
}

/// Where the edge meets the horizontal through `y`; both mirror images of an edge give
/// mirrored answers to the last bit, since it is always taken from its lower end.
double crossing_x(const Segment& edge, double y) noexcept
{
  const Point low = edge.a.y < edge.b.y ? edge.a : edge.b;
  const Point high = edge.a.y < edge.b.y ? edge.b : edge.a;
  return low.x + (y - low.y) * ((high.x - low.x) / (high.y - low.y));
}

}  // namespace

Rectangle bounds_of(const PolygonRegion& polygon) noexcept
{
  Rectangle box{polygon.points.front(), polygon.points.front()};
  for (const Point p : polygon.points) {
    box.min = {std::min(box.min.x, p.x), std::min(box.min.y, p.y)};
    box.max = {std::max(box.max.x, p.x), std::max(box.max.y, p.y)};
  }
  return box;
}

/// Even-odd rule along the horizontal ray to the right; a point on an edge is inside.
bool inside(const PolygonRegion& polygon, Point p) noexcept
{
  bool odd = false;
  for (std::size_t k = 0; k < polygon.points.size(); ++k) {
    const Segment edge = edge_of(polygon, k);
    const auto [low, high] = std::minmax(edge.a.y, edge.b.y);
    if (p.y < low || p.y > high) {
      continue;
    }
    if (low == high) {
      const auto [left, right] = std::minmax(edge.a.x, edge.b.x);
      if (p.x >= left && p.x <= right) {
        return true;
      }
      continue;
    }
    const double x = crossing_x(edge, p.y);
    if (x == p.x) {
      return true;
    }
    odd ^= x > p.x && p.y < high;
  }
  return odd;
}

double gap(const PolygonRegion& polygon, Point p) noexcept
{
  double least = std::numeric_limits<double>::infinity();
  Point nearest;
  for (std::size_t k = 0; k < polygon.points.size(); ++k) {
    least = std::min(least, squared_distance(p, edge_of(polygon, k), nearest));
  }
  return std::sqrt(least);
}

/// The one edge within `radius`, or nothing if there are more. Which side is inside is
/// asked of a point of the disc that lies off the edge, so that orientation does not
/// matter.
std::optional<HalfPlane> straighten(const PolygonRegion& polygon, Point center,
                                    double radius, double /*tolerance*/) noexcept
{
  std::optional<Segment> only;
  Point nearest;
  for (std::size_t k = 0; k < polygon.points.size(); ++k) {
    const Segment edge = edge_of(polygon, k);
    if (squared_distance(center, edge, nearest) <= radius * radius) {
      if (only) {
        return std::nullopt;
      }
      only = edge;
    }
  }
  if (!only) {
    return std::nullopt;
  }
  const double length = std::hypot(only->b.x - only->a.x, only->b.y - only->a.y);
  HalfPlane side{(only->b.y - only->a.y) / length, (only->a.x - only->b.x) / length, 0.0};
  side.distance = side.nx * (center.x - only->a.x) + side.ny * (center.y - only->a.y);
  const double step = side.distance >= 0.0 ? 0.5 * radius : -0.5 * radius;
  const bool in = inside(polygon, {center.x + step * side.nx, center.y + step * side.ny});
  if (in == (step > 0.0)) {
    side = {-side.nx, -side.ny, -side.distance};
  }
  return side;
}

void append_crossings(const PolygonRegion& polygon, const Segment& segment,
                      std::vector<double>& t)
{
  const Point d{segment.b.x - segment.a.x, segment.b.y - segment.a.y};
  for (std::size_t k = 0; k < polygon.points.size(); ++k) {
    const Segment edge = edge_of(polygon, k);
    const Point f{edge.b.x - edge.a.x, edge.b.y - edge.a.y};
    const Point r{edge.a.x - segment.a.x, edge.a.y - segment.a.y};
    const double cross = d.x * f.y - d.y * f.x;
    if (cross == 0.0) {
      continue;
    }
    const double at = (r.x * f.y - r.y * f.x) / cross;
    const double along = (r.x * d.y - r.y * d.x) / cross;
    if (at > 0.0 && at < 1.0 && along >= 0.0 && along <= 1.0) {
      t.push_back(at);
    }
  }
}

std::vector<Segment> trace(const PolygonRegion& polygon, double /*tolerance*/,
                           double longest)
{
  std::vector<Segment> pieces;
  for (std::size_t k = 0; k < polygon.points.size(); ++k) {
    const auto [a, b] = edge_of(polygon, k);
    const double length = std::hypot(b.x - a.x, b.y - a.y);
    const auto count =
        static_cast<std::size_t>(std::max(1.0, std::ceil(length / longest)));
    Point from = a;
    for (std::size_t n = 1; n <= count; ++n) {
      const double t = static_cast<double>(n) / static_cast<double>(count);
      const Point to =
          n == count ? b : Point{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
      pieces.push_back({from, to});
      from = to;
    }
  }
  return pieces;
}

}  // namespace torsowave::geometry
