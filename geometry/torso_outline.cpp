#include "geometry/torso_outline_internal.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace torsowave::geometry::torso {
namespace {

constexpr double full_turn = 2.0 * std::numbers::pi;
constexpr int fine_steps = 1440;
constexpr double chord = 3e-3;  // [m]

double apart(Point a, Point b) noexcept
{
  return std::hypot(b.x - a.x, b.y - a.y);
}

/// On |x/a|^n + |y/b|^n = 1 in the direction `t`.
Point on_superellipse(double t, double a, double b, double n) noexcept
{
  const double c = std::cos(t);
  const double s = std::sin(t);
  const double r =
      std::pow(std::pow(std::abs(c / a), n) + std::pow(std::abs(s / b), n), -1.0 / n);
  return {r * c, r * s};
}

}  // namespace

TorsoOutline::TorsoOutline(double breadth, double depth, double swell,
                           const OutlineForm& form)
    : half_breadth_(0.5 * breadth - swell),
      depth_(depth - 2.0 * swell),
      swell_(swell),
      form_(form)
{
  for (int k = 0; k < fine_steps; ++k) {
    lowest_ = std::min(lowest_, unscaled(full_turn * k / fine_steps).y);
  }
}

Point TorsoOutline::unscaled(double radians) const noexcept
{
  const double front = form_.front_share * depth_;
  if (std::sin(radians) >= 0.0) {
    return on_superellipse(radians, half_breadth_, front, form_.exponent_front);
  }
  Point p = on_superellipse(radians, half_breadth_, depth_ - front, form_.exponent_back);
  const double x = p.x / form_.furrow_width;
  p.y += form_.furrow * std::exp(-x * x);
  return p;
}

/// The furrow takes a little of the depth, which is stretched to its full length again.
Point TorsoOutline::surface(double radians) const noexcept
{
  Point p = unscaled(radians);
  const double scale = depth_ / (form_.front_share * depth_ - lowest_);
  p.y = (p.y - lowest_) * scale - 0.5 * depth_;
  return p;
}

Point TorsoOutline::at(double angle, double below) const noexcept
{
  constexpr double step = 1e-5;  // [rad]: errors of 1e-10
  const double t = angle * full_turn / 360.0;
  const Point p = surface(t);
  const Point a = surface(t - step);
  const Point b = surface(t + step);
  const double inward = (below - swell_) / apart(a, b);
  return {p.x - inward * (b.y - a.y), p.y + inward * (b.x - a.x)};
}

/// Steps of equal length along the outline: the angles of a fine polygon, interpolated.
Curve TorsoOutline::parallel(double below) const
{
  Curve fine;
  std::vector<double> along{0.0};
  for (int k = 0; k <= fine_steps; ++k) {
    fine.push_back(at(360.0 * k / fine_steps, below));
    if (k > 0) {
      along.push_back(along.back() + apart(fine[fine.size() - 2], fine.back()));
    }
  }
  const int count = 4 * static_cast<int>(std::ceil(along.back() / (4.0 * chord)));
  Curve curve;
  for (int n = 0; n < count; ++n) {
    const double want = along.back() * n / count;
    const auto next = std::upper_bound(along.begin(), along.end(), want);
    const auto k = static_cast<double>(next - along.begin() - 1);
    const double share = (want - *(next - 1)) / (*next - *(next - 1));
    curve.push_back(at(360.0 * (k + share) / fine_steps, below));
  }
  return curve;
}

}  // namespace torsowave::geometry::torso
