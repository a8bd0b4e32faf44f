#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <limits>
#include <numbers>

#include "geometry/region.hpp"
#include "geometry/torso_curves_internal.hpp"

namespace torsowave::geometry::torso {
namespace {

constexpr double degree = std::numbers::pi / 180.0;

Point mix(Point a, Point b, double t) noexcept
{
  return {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
}

double apart(Point a, Point b) noexcept
{
  return std::hypot(b.x - a.x, b.y - a.y);
}

/// Between the second and the third of four knots, by the pyramid of P. J. Barry and
/// R. N. Goldman, "A recursive evaluation algorithm for a class of Catmull-Rom splines",
/// SIGGRAPH 1988, from memory; steps between knots are square roots of their distances.
class Span {
public:
  Span(Point a, Point b, Point c, Point d) : p_{{a, b, c, d}}
  {
    for (std::size_t k = 1; k < 4; ++k) {
      t_[k] = t_[k - 1] + std::sqrt(apart(p_[k - 1], p_[k]));
    }
  }

  [[nodiscard]] Point at(double share) const noexcept
  {
    const double t = t_[1] + share * (t_[2] - t_[1]);
    const auto between = [&](Point a, Point b, std::size_t from, std::size_t to) {
      return mix(a, b, (t - t_[from]) / (t_[to] - t_[from]));
    };
    const Point a = between(p_[0], p_[1], 0, 1);
    const Point b = between(p_[1], p_[2], 1, 2);
    const Point c = between(p_[2], p_[3], 2, 3);
    return between(between(a, b, 0, 2), between(b, c, 1, 3), 1, 2);
  }

private:
  std::array<Point, 4> p_;
  std::array<double, 4> t_{};
};

/// The unit normal of the chord from the corner before to the corner after, outward.
Point normal_at(const Curve& curve, std::size_t k) noexcept
{
  const std::size_t count = curve.size();
  const Point before = curve[(k + count - 1) % count];
  const Point after = curve[(k + 1) % count];
  const double length = apart(before, after);
  return {(after.y - before.y) / length, (before.x - after.x) / length};
}

/// Twice the enclosed area, negative if the corners run clockwise [m^2].
double twice_area(const Curve& curve) noexcept
{
  double twice = 0.0;
  for (std::size_t k = 0; k < curve.size(); ++k) {
    const Point a = curve[k];
    const Point b = curve[(k + 1) % curve.size()];
    twice += a.x * b.y - b.x * a.y;
  }
  return twice;
}

/// Which corner of every `stride`-th is nearest.
std::size_t nearest_corner(Point p, const Curve& curve, std::size_t stride) noexcept
{
  std::size_t best = 0;
  for (std::size_t k = 0; k < curve.size(); k += stride) {
    if (apart(p, curve[k]) < apart(p, curve[best])) {
      best = k;
    }
  }
  return best;
}

/// The point itself if it is inside, else the nearest on the limit: first among a few
/// corners, then among the edges about the nearest of them.
Point pressed(Point p, const Curve& limit) noexcept
{
  constexpr std::size_t stride = 8;
  const std::size_t count = limit.size();
  const std::size_t first = nearest_corner(p, limit, stride) + count - stride;
  double least = std::numeric_limits<double>::infinity();
  Point on_limit = p;
  bool outside = false;
  for (std::size_t k = first; k < first + 2 * stride; ++k) {
    const Point a = limit[k % count];
    const Point b = limit[(k + 1) % count];
    Point nearest;
    const double gap = squared_distance(p, {a, b}, nearest);
    if (gap < least) {
      least = gap;
      on_limit = nearest;
      outside = (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) < 0.0;
    }
  }
  return outside ? on_limit : p;
}

}  // namespace

Curve smooth(const std::vector<Point>& knots, int pieces)
{
  const std::size_t count = knots.size();
  Curve curve;
  curve.reserve(count * static_cast<std::size_t>(pieces));
  for (std::size_t k = 0; k < count; ++k) {
    const Span span(knots[(k + count - 1) % count], knots[k], knots[(k + 1) % count],
                    knots[(k + 2) % count]);
    for (int n = 0; n < pieces; ++n) {
      curve.push_back(span.at(static_cast<double>(n) / pieces));
    }
  }
  if (twice_area(curve) < 0.0) {
    std::ranges::reverse(curve);
  }
  return curve;
}

Curve outline_of(const Blob& blob)
{
  constexpr double chord = 3e-3;  // [m]
  const double around =
      std::numbers::pi * (blob.semi_axis_x + blob.semi_axis_y);  // [m], roughly
  const int count = std::max(20, static_cast<int>(around / chord));
  const double cosine = std::cos(blob.rotation * degree);
  const double sine = std::sin(blob.rotation * degree);
  Curve curve;
  for (int k = 0; k < count; ++k) {
    const double t = 2.0 * std::numbers::pi * k / count;
    const double r = 1.0 + blob.two * std::cos(2.0 * t + blob.phase * degree) +
                     blob.three * std::cos(3.0 * t - blob.phase * degree);
    const double x = r * blob.semi_axis_x * std::cos(t);
    const double y = r * blob.semi_axis_y * std::sin(t);
    curve.push_back(
        {blob.center.x + cosine * x - sine * y, blob.center.y + sine * x + cosine * y});
  }
  return curve;
}

Curve inset(const Curve& curve, double distance)
{
  Curve moved;
  for (std::size_t k = 0; k < curve.size(); ++k) {
    const Point normal = normal_at(curve, k);
    moved.push_back({curve[k].x - distance * normal.x, curve[k].y - distance * normal.y});
  }
  return moved;
}

Curve pressed(const Curve& curve, const Curve& limit)
{
  constexpr double same = 0.2e-3;  // [m]: points that were pressed together
  Curve inside;
  for (const Point corner : curve) {
    const Point p = pressed(corner, limit);
    if (inside.empty() || apart(inside.back(), p) > same) {
      inside.push_back(p);
    }
  }
  while (inside.size() > 3 && apart(inside.back(), inside.front()) <= same) {
    inside.pop_back();
  }
  return inside;
}

Curve above(const Curve& curve, double y)
{
  Curve kept;
  for (std::size_t k = 0; k < curve.size(); ++k) {
    const Point a = curve[k];
    const Point b = curve[(k + 1) % curve.size()];
    if (a.y > y) {
      kept.push_back(a);
    }
    if ((a.y > y) != (b.y > y)) {
      kept.push_back({a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x), y});
    }
  }
  return kept;
}

Point mirrored(Point p) noexcept
{
  return {-p.x, p.y};
}

Curve mirrored(const Curve& curve)
{
  Curve other;
  other.reserve(curve.size());
  std::transform(curve.rbegin(), curve.rend(), std::back_inserter(other),
                 [](Point p) { return mirrored(p); });
  return other;
}

/// r(pi - t) of the mirrored blob is r(t): the phase of cos(2 t) turns round, that of
/// cos(3 t) turns round and by half a period.
Blob mirrored(Blob blob) noexcept
{
  blob.center = mirrored(blob.center);
  blob.rotation = -blob.rotation;
  blob.phase = -blob.phase;
  blob.three = -blob.three;
  return blob;
}

}  // namespace torsowave::geometry::torso
