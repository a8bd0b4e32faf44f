/// The pelvis above the hip joints (fourth sacral vertebra). All sizes and places are
/// invented.

#include <algorithm>
#include <iterator>

#include "geometry/torso_parts_internal.hpp"

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;

/// Bones and muscles of the back keep their size, but move apart with the breadth.
Curve behind(const Layout& in, std::vector<Point> knots)
{
  const Point spine = in.at(0.0, 0.0);
  std::ranges::transform(knots, knots.begin(), [&](Point p) {
    return Point{p.x * mm * in.wider(), spine.y + p.y * mm};
  });
  return smooth(knots);
}

void paint_sacrum(Painter& paint, const Layout& in)
{
  const std::vector<Point> half{{0.0, 0.0},    {12.0, -1.0},  {24.0, -5.0},
                                {33.0, -11.0}, {36.0, -17.0}, {30.0, -22.0},
                                {18.0, -25.0}, {8.0, -29.0},  {0.0, -31.0}};
  std::vector<Point> knots = half;
  std::for_each(half.rbegin(), half.rend(), [&](Point p) {
    if (p.x != 0.0) {
      knots.push_back({-p.x, p.y});
    }
  });
  paint_bone(paint, behind(in, knots), 1.6 * mm);
  paint.fill("nerve", Blob{{0.0, in.at(0.0, 0.0).y - 21.0 * mm}, 7.0 * mm, 3.5 * mm});
  for (const double side : {-1.0, 1.0}) {
    paint.fill("nerve",
               Blob{{side * 17.0 * mm * in.wider(), in.at(0.0, 0.0).y - 10.0 * mm},
                    3.2 * mm,
                    2.6 * mm});
  }
}

void paint_buttocks(Painter& paint, const Layout& in)
{
  // Gluteus maximus from the sacrum outward; medius and minimus outside the hip bone.
  std::vector<Point> knots = in.along(-73.0, -16.0, 0.5 - in.muscle() / mm);
  std::ranges::transform(
      std::vector<Point>{
          {128.0, 16.0}, {112.0, 6.0}, {88.0, -6.0}, {62.0, -14.0}, {40.0, -20.0}},
      std::back_inserter(knots), [&](Point p) { return in.at(p.x, p.y); });
  paint.both("muscle", smooth(knots));
  knots = in.along(-10.0, 26.0, -2.0);
  std::ranges::transform(std::vector<Point>{{126.0, 86.0},
                                            {116.0, 62.0},
                                            {98.0, 36.0},
                                            {90.0, 18.0},
                                            {102.0, 12.0},
                                            {122.0, 24.0}},
                         std::back_inserter(knots),
                         [&](Point p) { return in.at(p.x, p.y); });
  paint.both("muscle", smooth(knots));
  paint.both("muscle", in.through({{34.0, -4.0},
                                   {50.0, -2.0},
                                   {70.0, 6.0},
                                   {84.0, 12.0},
                                   {82.0, 18.0},
                                   {66.0, 14.0},
                                   {46.0, 7.0},
                                   {32.0, 2.0}}));                         // piriformis
  paint.both("nerve", Blob{in.at(64.0, -3.0), 7.0 * mm, 3.0 * mm, 18.0});  // sciatic
}

void paint_hip_bones(Painter& paint, const Layout& in)
{
  const Curve ilium = in.through({{77.0, 30.0},
                                  {84.0, 24.0},
                                  {94.0, 34.0},
                                  {106.0, 50.0},
                                  {117.0, 70.0},
                                  {121.0, 88.0},
                                  {115.0, 95.0},
                                  {106.0, 86.0},
                                  {96.0, 72.0},
                                  {85.0, 54.0},
                                  {78.0, 42.0}});
  paint_bone(paint, ilium, 2.4 * mm);
  paint_bone(paint, mirrored(ilium), 2.4 * mm);
  paint.both("muscle", in.through({{74.0, 34.0},
                                   {80.0, 54.0},
                                   {90.0, 72.0},
                                   {86.0, 76.0},
                                   {74.0, 62.0},
                                   {68.0, 44.0}}));  // obturator internus
  paint.both("muscle", in.through({{98.0, 82.0},
                                   {112.0, 97.0},
                                   {110.0, 112.0},
                                   {94.0, 119.0},
                                   {78.0, 112.0},
                                   {74.0, 96.0},
                                   {84.0, 84.0}}));  // iliopsoas
  paint.both("nerve", Blob{in.at(84.0, 120.0), 4.0 * mm, 2.0 * mm, -20.0});
}

void paint_iliac_vessels(Painter& paint, const Layout& in)
{
  for (const double side : {-1.0, 1.0}) {
    paint.tube("blood_vessel_wall", "blood",
               Blob{in.at(side * 63.0, 112.0), 5.5 * mm, 5.5 * mm}, 1.2 * mm);
    paint.tube("blood_vessel_wall", "blood",
               Blob{in.at(side * 61.0, 98.0), 7.5 * mm, 6.0 * mm, side * 30.0}, 0.8 * mm);
    paint.fill("blood", Blob{in.at(side * 60.0, 30.0), 3.0 * mm, 2.4 * mm});
  }
}

void paint_organs(Painter& paint, const Layout& in)
{
  paint.tube("bladder", "body_fluid",
             in.through({{0.0, 68.0},
                         {26.0, 72.0},
                         {43.0, 86.0},
                         {46.0, 102.0},
                         {32.0, 118.0},
                         {2.0, 124.0},
                         {-30.0, 118.0},
                         {-45.0, 102.0},
                         {-42.0, 86.0},
                         {-24.0, 72.0}}),
             4.0 * mm);
  const Blob rectum{in.at(3.0, 18.0), 19.0 * mm, 14.0 * mm, 8.0, 0.04, 0.05, 30.0};
  paint.tube_with_gas("colon", "body_fluid", outline_of(rectum), 3.4 * mm, 0.3);
  const Blob sigmoid{in.at(40.0, 50.0), 20.0 * mm, 13.0 * mm, -18.0, 0.05, 0.05, 80.0};
  paint.tube_with_gas("colon", "body_fluid", outline_of(sigmoid), 3.0 * mm, 0.5);
  const std::vector<Blob> loops{
      {in.at(-42.0, 54.0), 17.0 * mm, 12.0 * mm, 20.0, 0.04, 0.05, 10.0},
      {in.at(-8.0, 52.0), 16.0 * mm, 11.0 * mm, -10.0, 0.04, 0.05, 100.0}};
  for (const Blob& loop : loops) {
    paint.tube("small_intestine", "body_fluid", loop, 2.6 * mm);
  }
}

}  // namespace

LevelForm pelvis_form()
{
  return {.outline = {2.4, 2.7, 0.5, 5.0 * mm, 28.0 * mm},
          .layers = 32.35 * mm,
          .spine = 40.0 * mm,
          .half_breadth = 140.0 * mm,
          .forward = 145.0 * mm,
          .half_breadths = {115.0 * mm, 200.0 * mm},
          .forwards = {100.0 * mm, 230.0 * mm}};
}

void paint_pelvis(Painter& paint, const Layout& in)
{
  paint_midline_tendon(paint, in);
  paint.fill("fat_average_infiltrated",
             in.strip(253.0, 287.0, -in.muscle() / mm - 0.5, 1.0));
  paint_buttocks(paint, in);
  paint.both("fat_average_infiltrated",
             in.strip(-14.6, -12.2, -in.muscle() / mm - 0.5, 5.0));
  paint_hip_bones(paint, in);
  paint_sacrum(paint, in);
  paint_organs(paint, in);
  paint_iliac_vessels(paint, in);
}

}  // namespace torsowave::geometry::torso
