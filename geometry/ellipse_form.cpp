#include "geometry/outline_forms.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace torsowave::geometry {
namespace {

/// The point in the ellipse's own frame, scaled so that its outline is the unit circle.
Point scaled(const EllipseRegion& e, Point p) noexcept
{
  const double dx = p.x - e.center.x;
  const double dy = p.y - e.center.y;
  return {(dx * e.cosine + dy * e.sine) / e.a, (dy * e.cosine - dx * e.sine) / e.b};
}

}  // namespace

Rectangle bounds_of(const EllipseRegion& e) noexcept
{
  const double wx = std::hypot(e.a * e.cosine, e.b * e.sine);
  const double wy = std::hypot(e.a * e.sine, e.b * e.cosine);
  return {{e.center.x - wx, e.center.y - wy}, {e.center.x + wx, e.center.y + wy}};
}

bool inside(const EllipseRegion& e, Point p) noexcept
{
  const Point s = scaled(e, p);
  return s.x * s.x + s.y * s.y <= 1.0;
}

/// g(p) = |scaled(p)| changes by at most |dp| / min(a, b), and is 1 on the outline.
double gap(const EllipseRegion& e, Point p) noexcept
{
  const Point s = scaled(e, p);
  return std::abs(std::sqrt(s.x * s.x + s.y * s.y) - 1.0) * std::min(e.a, e.b);
}

/// The tangent where the ray from the ellipse's centre through `c` meets the outline.
/// With g = |scaled(p)|, homogeneous of degree 1, that line is g + grad g . (p - center)
/// = 1. It leaves the outline by curvature * distance^2 / 2.
std::optional<HalfPlane> straighten(const EllipseRegion& e, Point center, double radius,
                                    double tolerance) noexcept
{
  const double narrow = std::min(e.a, e.b);
  const double wide = std::max(e.a, e.b);
  const Point s = scaled(e, center);
  const double g = std::sqrt(s.x * s.x + s.y * s.y);
  if (4.0 * radius * wide > narrow * narrow || g == 0.0) {
    return std::nullopt;  // wider than a quarter of the least radius of curvature
  }
  const double gu = s.x / (e.a * g);
  const double gv = s.y / (e.b * g);
  const double slope = std::sqrt(gu * gu + gv * gv);
  // Curvature at the point (a cos t, b sin t): a b / (a^2 sin^2 t + b^2 cos^2 t)^(3/2),
  // and slope = sqrt(a^2 sin^2 t + b^2 cos^2 t) / (a b). From memory; any text on plane
  // curves.
  const double speed = slope * e.a * e.b;
  if (e.a * e.b / (speed * speed * speed) * radius * radius > tolerance) {
    return std::nullopt;
  }
  return HalfPlane{(gu * e.cosine - gv * e.sine) / slope,
                   (gu * e.sine + gv * e.cosine) / slope, (g - 1.0) / slope};
}

/// |P + t D|^2 = 1 in the scaled frame.
void append_crossings(const EllipseRegion& e, const Segment& segment,
                      std::vector<double>& t)
{
  const Point p = scaled(e, segment.a);
  const Point q = scaled(e, segment.b);
  const Point d{q.x - p.x, q.y - p.y};
  const double a = d.x * d.x + d.y * d.y;
  const double half_b = p.x * d.x + p.y * d.y;
  const double root = half_b * half_b - a * (p.x * p.x + p.y * p.y - 1.0);
  if (a <= 0.0 || root <= 0.0) {
    return;
  }
  for (const double sign : {-1.0, 1.0}) {
    const double at = (-half_b + sign * std::sqrt(root)) / a;
    if (at > 0.0 && at < 1.0) {
      t.push_back(at);
    }
  }
}

/// Equal steps of the eccentric anomaly; scaled so that the 4m-gon has the area of the
/// ellipse. One table serves all quadrants, which keeps mirror symmetry to the last bit.
std::vector<Segment> trace(const EllipseRegion& e, double tolerance, double /*longest*/)
{
  const double step = std::sqrt(8.0 * tolerance / std::max(e.a, e.b));
  const auto quarter =
      static_cast<std::size_t>(std::max(16.0, std::ceil(0.5 * std::numbers::pi / step)));
  const double angle = 0.5 * std::numbers::pi / static_cast<double>(quarter);
  const double scale = std::sqrt(angle / std::sin(angle));
  std::vector<double> cosine(quarter + 1);
  for (std::size_t k = 0; k <= quarter; ++k) {
    cosine[k] =
        scale * (2 * k <= quarter ? std::cos(angle * static_cast<double>(k))
                                  : std::sin(angle * static_cast<double>(quarter - k)));
  }
  const auto vertex = [&](std::size_t n) {
    const std::size_t k = n % quarter;
    Point p{cosine[k], cosine[quarter - k]};
    for (std::size_t turn = n / quarter % 4; turn > 0; --turn) {
      p = {-p.y, p.x};
    }
    p = {e.a * p.x, e.b * p.y};
    return Point{e.center.x + (p.x * e.cosine - p.y * e.sine),
                 e.center.y + (p.x * e.sine + p.y * e.cosine)};
  };
  std::vector<Segment> pieces;
  pieces.reserve(4 * quarter);
  for (std::size_t n = 0; n < 4 * quarter; ++n) {
    pieces.push_back({vertex(n), vertex(n + 1)});
  }
  return pieces;
}

}  // namespace torsowave::geometry
