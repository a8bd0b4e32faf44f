#include "geometry/torso_layout_internal.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <string_view>

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;

/// Whether `room` [m] is between the limits; `outer` is what the user gave, `layers` what
/// the three layers take of it on both sides.
void check_room(const std::string& parameter, double outer, double room, double layers,
                const TorsoLimits& limits, double share)
{
  if (room >= limits.least && room <= limits.largest) {
    return;
  }
  const double least = outer + (limits.least - room) * share;
  const double largest = outer + (limits.largest - room) * share;
  throw TorsoError(
      parameter,
      fmt::format("a {} of {:.4g} mm leaves the organs of this level too {} room inside "
                  "skin, fat and muscle ({:.4g} mm in all); with these layers it must be "
                  "{:.1f} mm to {:.1f} mm, or take {} layers",
                  parameter, outer / mm, room < limits.least ? "little" : "much",
                  layers / mm, std::ceil(least / mm * 10.0) / 10.0,
                  std::floor(largest / mm * 10.0) / 10.0,
                  room < limits.least ? "thinner" : "thicker"));
}

}  // namespace

Layout::Layout(const TorsoParameters& p, const LevelForm& form)
    : outline_(p.breadth, p.depth, p.skin + p.fat + p.muscle - form.layers, form.outline),
      under_fat_(p.skin + p.fat),
      under_muscle_(p.skin + p.fat + p.muscle),
      spine_front_(outline_.at(270.0, under_fat_).y + form.spine)
{
  const double half_breadth = 0.5 * p.breadth - under_muscle_;
  const double forward = 0.5 * p.depth - under_muscle_ - spine_front_;
  check_room("breadth", p.breadth, half_breadth, under_muscle_, form.half_breadths, 2.0);
  check_room("depth", p.depth, forward, under_muscle_, form.forwards, 1.0);
  wider_ = half_breadth / form.half_breadth;
  deeper_ = forward / form.forward;
}

Point Layout::at(double x, double y) const noexcept
{
  return {x * mm * wider_, spine_front_ + y * mm * (y > 0.0 ? deeper_ : 1.0)};
}

Point Layout::organ(Point middle, double x, double y) const noexcept
{
  const auto tamed = [](double factor) {
    return factor > 1.0 ? std::sqrt(factor) : factor;
  };
  const Point center = at(middle.x, middle.y);
  return {center.x + (x - middle.x) * mm * tamed(wider_),
          center.y + (y - middle.y) * mm * tamed(deeper_)};
}

Curve Layout::through(const std::vector<Point>& knots) const
{
  std::vector<Point> placed;
  std::ranges::transform(knots, std::back_inserter(placed),
                         [&](Point p) { return at(p.x, p.y); });
  return smooth(placed);
}

Point Layout::wall(double angle, double within) const noexcept
{
  return outline_.at(angle, under_muscle_ + within * mm);
}

std::vector<Point> Layout::along(double from, double to, double within) const
{
  constexpr double step = 7.0;  // [deg]
  const int count = std::max(1, static_cast<int>(std::abs(to - from) / step));
  std::vector<Point> points;
  for (int k = 0; k <= count; ++k) {
    points.push_back(wall(from + (to - from) * k / count, within));
  }
  return points;
}

Curve Layout::strip(double from, double to, double outer, double inner) const
{
  const double round = std::min(2.0, 0.2 * (to - from));
  std::vector<Point> knots = along(from + round, to - round, outer);
  knots.push_back(wall(to, 0.5 * (outer + inner)));
  std::ranges::move(along(to - round, from + round, inner), std::back_inserter(knots));
  knots.push_back(wall(from, 0.5 * (outer + inner)));
  return smooth(knots);
}

Painter::Painter(const Layout& in)
    : wall_(in.outline().parallel(in.under_fat())),
      room_(in.outline().parallel(in.under_muscle()))
{
  shapes_.push_back({"muscle", Polygon{wall_}});
  shapes_.push_back({"fat_average_infiltrated", Polygon{room_}});
}

Curve Painter::inside(const std::string& tissue, const Curve& curve) const
{
  constexpr std::array<std::string_view, 9> of_the_wall{"muscle",
                                                        "fat_average_infiltrated",
                                                        "bone_cortical",
                                                        "cartilage",
                                                        "cerebrospinal_fluid",
                                                        "bone_cancellous",
                                                        "tendon",
                                                        "spinal_cord",
                                                        "nerve"};
  const bool may = std::ranges::find(of_the_wall, tissue) != of_the_wall.end();
  return pressed(curve, may ? wall_ : room_);
}

void Painter::fill(const std::string& tissue, const Curve& curve)
{
  shapes_.push_back({tissue, Polygon{inside(tissue, curve)}});
}

void Painter::fill(const std::string& tissue, const Blob& blob)
{
  fill(tissue, outline_of(blob));
}

void Painter::both(const std::string& tissue, const Curve& curve)
{
  fill(tissue, curve);
  fill(tissue, mirrored(curve));
}

void Painter::both(const std::string& tissue, const Blob& blob)
{
  both(tissue, outline_of(blob));
}

void Painter::tube(const std::string& rind, const std::string& content,
                   const Curve& curve, double wall)
{
  const Curve outer = inside(rind, curve);
  fill(rind, outer);
  fill(content, inset(outer, wall));
}

void Painter::tube(const std::string& rind, const std::string& content, const Blob& blob,
                   double wall)
{
  tube(rind, content, outline_of(blob), wall);
}

void Painter::tube_with_gas(const std::string& rind, const std::string& content,
                            const Curve& curve, double wall, double level)
{
  tube(rind, content, curve, wall);
  const Curve hollow = inside(content, inset(inside(rind, curve), wall));
  const auto [low, high] = std::ranges::minmax(hollow, {}, &Point::y);
  const Curve gas = above(hollow, high.y - level * (high.y - low.y));
  if (gas.size() > 2) {
    fill("air", gas);
  }
}

}  // namespace torsowave::geometry::torso
