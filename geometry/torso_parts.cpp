#include "geometry/torso_parts_internal.hpp"

#include <algorithm>
#include <iterator>

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;

/// The right half of a symmetric bone, from its front to its back [mm], and its left
/// half.
std::vector<Point> both_halves(std::vector<Point> half)
{
  const std::size_t count = half.size();
  for (std::size_t k = count; k-- > 0;) {
    if (half[k].x != 0.0) {
      half.push_back({-half[k].x, half[k].y});
    }
  }
  return half;
}

/// The spine keeps its size, whatever the breadth.
Curve bone_of_spine(const Layout& in, const std::vector<Point>& half)
{
  const Point front = in.at(0.0, 0.0);
  std::vector<Point> knots = both_halves(half);
  std::ranges::transform(knots, knots.begin(), [&](Point p) {
    return Point{p.x * mm, front.y + p.y * mm};
  });
  return smooth(knots);
}

Blob in_canal(const Layout& in, double y, double semi_axis_x, double semi_axis_y)
{
  const Point front = in.at(0.0, 0.0);
  return {.center = {0.0, front.y + y * mm},
          .semi_axis_x = semi_axis_x * mm,
          .semi_axis_y = semi_axis_y * mm};
}

}  // namespace

void paint_bone(Painter& paint, const Curve& curve, double rim)
{
  paint.tube("bone_cortical", "bone_cancellous", curve, rim);
}

void paint_lumbar_vertebra(Painter& paint, const Layout& in)
{
  // Arch with the spinous process in the midline and the transverse ones at the sides.
  paint.fill("bone_cortical", bone_of_spine(in, {{0.0, -30.0},
                                                 {16.0, -30.0},
                                                 {17.5, -37.0},
                                                 {19.0, -41.0},
                                                 {25.0, -42.5},
                                                 {34.0, -43.0},
                                                 {41.0, -45.0},
                                                 {41.5, -48.0},
                                                 {36.0, -49.5},
                                                 {27.0, -49.0},
                                                 {20.0, -50.0},
                                                 {14.5, -53.0},
                                                 {8.5, -57.0},
                                                 {4.5, -61.0},
                                                 {3.4, -67.0},
                                                 {3.6, -73.0},
                                                 {3.0, -76.0},
                                                 {0.0, -77.5}}));
  paint.fill("bone_cancellous",
             bone_of_spine(in, {{0.0, -60.0}, {2.2, -63.0}, {1.8, -70.0}, {0.0, -74.5}}));
  paint_bone(paint,
             bone_of_spine(in, {{0.0, 0.0},
                                {12.0, -1.5},
                                {20.5, -8.0},
                                {23.5, -17.5},
                                {21.0, -27.0},
                                {13.0, -33.0},
                                {0.0, -33.0}}),
             1.8 * mm);
  paint.fill("cerebrospinal_fluid", in_canal(in, -42.5, 11.0, 8.5));
  paint.fill("spinal_cord", in_canal(in, -43.0, 5.4, 4.2));
}

void paint_thoracic_vertebra(Painter& paint, const Layout& in)
{
  paint.fill("bone_cortical", bone_of_spine(in, {{0.0, -25.0},
                                                 {12.0, -26.0},
                                                 {13.5, -33.0},
                                                 {17.0, -38.0},
                                                 {24.0, -43.0},
                                                 {31.0, -47.0},
                                                 {32.5, -51.0},
                                                 {28.0, -53.0},
                                                 {20.0, -49.5},
                                                 {12.0, -47.5},
                                                 {6.5, -49.0},
                                                 {3.6, -55.0},
                                                 {3.0, -63.0},
                                                 {2.4, -69.0},
                                                 {0.0, -71.0}}));
  paint_bone(paint,
             bone_of_spine(in, {{0.0, 0.0},
                                {9.0, -2.0},
                                {15.0, -9.0},
                                {17.0, -18.0},
                                {15.0, -25.0},
                                {8.0, -28.5},
                                {0.0, -28.0}}),
             1.6 * mm);
  paint.fill("cerebrospinal_fluid", in_canal(in, -36.0, 8.5, 8.0));
  paint.fill("spinal_cord", in_canal(in, -36.0, 5.0, 4.3));
}

void paint_ribs(Painter& paint, const Layout& in, const std::vector<Rib>& ribs)
{
  constexpr double thickness = 7.0;  // [mm]
  constexpr double rim = 1.3 * mm;
  for (const Rib& rib : ribs) {
    paint_bone(paint, in.strip(rib.from, rib.to, -thickness - 1.5, -1.5), rim);
  }
}

void paint_midline_tendon(Painter& paint, const Layout& in)
{
  paint.fill("tendon", in.strip(88.8, 91.2, 0.5 - in.muscle() / mm, -0.3));
}

void paint_belly_wall(Painter& paint, const Layout& in)
{
  constexpr double gap = 0.8;  // [mm]
  const double wall = in.muscle() / mm;
  for (const double share : {1.0 / 3.0, 2.0 / 3.0}) {
    const double depth = -wall * share;
    paint.both("fat_average_infiltrated",
               in.strip(-28.0, 52.0, depth - 0.5 * gap, depth + 0.5 * gap));
  }
  paint.both("tendon", in.strip(54.0, 56.5, 0.5 - wall, -0.3));
  paint_midline_tendon(paint, in);
}

}  // namespace torsowave::geometry::torso
