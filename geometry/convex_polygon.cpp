#include "geometry/convex_polygon.hpp"

#include <cmath>

namespace torsowave::geometry {

ConvexPolygon::ConvexPolygon(double edge) noexcept
{
  const double h = 0.5 * edge;
  add({-h, -h});
  add({h, -h});
  add({h, h});
  add({-h, h});
}

ConvexPolygon ConvexPolygon::part(const HalfPlane& line, bool inside) const noexcept
{
  const double sign = inside ? 1.0 : -1.0;
  const auto height = [&](Point p) {
    return sign * (line.distance + line.nx * p.x + line.ny * p.y);
  };
  ConvexPolygon result;
  for (std::size_t k = 0; k < count_; ++k) {
    const Point p = points_[k];
    const Point q = points_[k + 1 == count_ ? 0 : k + 1];
    const double hp = height(p);
    const double hq = height(q);
    if (hp <= 0.0) {
      result.add(p);
    }
    if ((hp < 0.0 && hq > 0.0) || (hp > 0.0 && hq < 0.0)) {
      const double t = hp / (hp - hq);
      result.add({p.x + t * (q.x - p.x), p.y + t * (q.y - p.y)});
    }
  }
  return result;
}

double ConvexPolygon::area() const noexcept
{
  double twice = 0.0;
  for (std::size_t k = 0; k < count_; ++k) {
    const Point p = points_[k];
    const Point q = points_[k + 1 == count_ ? 0 : k + 1];
    twice += p.x * q.y - p.y * q.x;
  }
  return std::abs(0.5 * twice);
}

}  // namespace torsowave::geometry
