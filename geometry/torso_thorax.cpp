/// The level of the heart (eighth or ninth thoracic vertebra). All sizes and places are
/// invented.

#include <algorithm>

#include "geometry/torso_parts_internal.hpp"

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;
constexpr Point heart{15.0, 70.0};  ///< its middle [mm]

Blob beside_spine(const Layout& in, double x, double y, double a, double b, double turn)
{
  return {.center = {x * mm, in.at(0.0, 0.0).y + y * mm},
          .semi_axis_x = a * mm,
          .semi_axis_y = b * mm,
          .rotation = turn};
}

/// Ribs, cartilages beside the breastbone, and fat between the outer muscles.
void paint_chest_wall(Painter& paint, const Layout& in)
{
  const double wall = in.muscle() / mm;
  paint.both("fat_average_infiltrated",
             in.strip(-62.0, -8.0, -0.62 * wall, -0.54 * wall));
  paint.both("fat_average_infiltrated", in.strip(46.0, 78.0, -0.66 * wall, -0.56 * wall));
  paint_ribs(paint, in,
             {{-62.0, -49.0},
              {-40.0, -30.0},
              {-22.0, -11.0},
              {-2.0, 9.0},
              {17.0, 28.0},
              {36.0, 46.0}});
  paint_ribs(paint, in,
             {{229.0, 241.0},
              {211.0, 221.0},
              {192.0, 203.0},
              {172.0, 183.0},
              {152.0, 163.0},
              {135.0, 145.0}});
  paint.both("cartilage", in.strip(54.0, 72.0, -9.0, -1.5));
  paint_bone(paint, in.strip(81.0, 99.0, -12.0, -1.0), 1.3 * mm);
}

void paint_back(Painter& paint, const Layout& in)
{
  paint.both("fat_average_infiltrated", beside_spine(in, 22.0, -38.0, 22.0, 14.0, -40.0));
  paint.both("muscle", beside_spine(in, 30.0, -58.0, 29.0, 17.0, -8.0));
  paint_thoracic_vertebra(paint, in);
  // Necks of the ribs from the vertebra to the transverse processes.
  const Point spine = in.at(0.0, 0.0);
  const auto rib = [&](std::vector<Point> knots) {
    for (Point& p : knots) {
      p = {p.x * mm, spine.y + p.y * mm};
    }
    return smooth(knots);
  };
  const Curve neck = rib({{16.0, -23.0},
                          {21.0, -25.0},
                          {30.0, -36.0},
                          {43.0, -47.0},
                          {56.0, -54.0},
                          {54.0, -60.0},
                          {39.0, -54.0},
                          {26.0, -42.0},
                          {16.0, -30.0}});
  paint_bone(paint, neck, 1.3 * mm);
  paint_bone(paint, mirrored(neck), 1.3 * mm);
}

void paint_lungs(Painter& paint, const Layout& in)
{
  paint.fill("lung_inflated", in.outline().parallel(in.under_muscle() + 1.0 * mm));
  // Branches of vessels, thicker towards the root.
  const std::vector<Blob> branches{{in.at(-72.0, 40.0), 6.5 * mm, 4.5 * mm, 30.0},
                                   {in.at(-86.0, 20.0), 4.5 * mm, 3.5 * mm, 0.0},
                                   {in.at(-94.0, 62.0), 4.0 * mm, 3.0 * mm, -30.0},
                                   {in.at(-112.0, -4.0), 3.0 * mm, 2.6 * mm, 0.0},
                                   {in.at(-70.0, -12.0), 3.4 * mm, 2.8 * mm, 0.0},
                                   {in.at(-116.0, 40.0), 2.6 * mm, 2.4 * mm, 0.0},
                                   {in.at(-84.0, 92.0), 2.6 * mm, 2.2 * mm, 0.0},
                                   {in.at(70.0, 16.0), 6.0 * mm, 4.2 * mm, -30.0},
                                   {in.at(88.0, -6.0), 4.2 * mm, 3.2 * mm, 0.0},
                                   {in.at(104.0, 24.0), 3.6 * mm, 3.0 * mm, 0.0},
                                   {in.at(62.0, -22.0), 3.0 * mm, 2.6 * mm, 0.0},
                                   {in.at(122.0, -4.0), 2.6 * mm, 2.2 * mm, 0.0},
                                   {in.at(118.0, 54.0), 2.6 * mm, 2.2 * mm, 0.0}};
  for (const Blob& branch : branches) {
    paint.fill("blood", branch);
  }
}

Curve in_heart(const Layout& in, std::vector<Point> knots)
{
  std::ranges::transform(knots, knots.begin(),
                         [&](Point p) { return in.organ(heart, p.x, p.y); });
  return smooth(knots);
}

Curve heart_outline(const Layout& in)
{
  return in_heart(in, {{-55.0, 62.0},
                       {-46.0, 42.0},
                       {-26.0, 28.0},
                       {4.0, 24.0},
                       {32.0, 29.0},
                       {58.0, 40.0},
                       {80.0, 58.0},
                       {91.0, 80.0},
                       {86.0, 99.0},
                       {68.0, 111.0},
                       {36.0, 117.0},
                       {2.0, 116.0},
                       {-30.0, 104.0},
                       {-50.0, 84.0}});
}

/// Fat between the lungs: around heart and great vessels, and up to the breastbone.
void paint_mediastinum(Painter& paint, const Layout& in)
{
  paint.fill("fat_average_infiltrated", inset(heart_outline(in), -4.0 * mm));
  std::vector<Point> front = in.along(82.0, 98.0, 0.3);
  for (const Point p : {Point{-23.0, 118.0}, Point{-40.0, 103.0}, Point{-56.0, 82.0},
                        Point{-40.0, 76.0}, Point{20.0, 100.0}, Point{72.0, 100.0},
                        Point{84.0, 103.0}, Point{66.0, 113.0}, Point{40.0, 121.0}}) {
    front.push_back(in.organ(heart, p.x, p.y));
  }
  paint.fill("fat_average_infiltrated", smooth(front));
  paint.fill("fat_average_infiltrated", in.through({{-20.0, -16.0},
                                                    {20.0, -16.0},
                                                    {37.0, 2.0},
                                                    {36.0, 20.0},
                                                    {20.0, 34.0},
                                                    {-14.0, 34.0},
                                                    {-20.0, 14.0}}));
}

void paint_heart(Painter& paint, const Layout& in)
{
  paint.fill("heart_muscle", heart_outline(in));
  // Right atrium, left atrium.
  paint.fill("blood", in_heart(in, {{-52.0, 63.0},
                                    {-44.0, 45.0},
                                    {-29.0, 36.0},
                                    {-19.0, 46.0},
                                    {-11.0, 60.0},
                                    {-9.0, 74.0},
                                    {-22.0, 86.0},
                                    {-38.0, 88.0},
                                    {-49.0, 77.0}}));
  paint.fill("blood", in_heart(in, {{-23.0, 32.0},
                                    {4.0, 26.5},
                                    {30.0, 31.5},
                                    {43.0, 40.0},
                                    {34.0, 50.0},
                                    {18.0, 59.0},
                                    {2.0, 62.0},
                                    {-8.0, 54.0},
                                    {-15.0, 42.0}}));
  // Right ventricle, left ventricle.
  paint.fill("blood", in_heart(in, {{-19.0, 90.0},
                                    {-5.0, 78.0},
                                    {8.0, 75.0},
                                    {26.0, 82.0},
                                    {46.0, 95.0},
                                    {62.0, 106.0},
                                    {38.0, 113.0},
                                    {4.0, 111.5},
                                    {-24.0, 101.0}}));
  paint.fill("blood", in_heart(in, {{36.0, 53.0},
                                    {50.0, 46.0},
                                    {66.0, 57.0},
                                    {79.0, 73.0},
                                    {81.0, 87.0},
                                    {70.0, 95.0},
                                    {50.0, 86.0},
                                    {30.0, 73.0},
                                    {20.0, 64.0}}));
  // Papillary muscle; fat in the groove between atrium and ventricle, with an artery.
  paint.fill("heart_muscle", Blob{in.organ(heart, 69.0, 68.0), 5.0 * mm, 3.6 * mm, 40.0});
  paint.fill("fat_average_infiltrated",
             Blob{in.organ(heart, -32.0, 96.0), 6.0 * mm, 4.0 * mm, 40.0});
  paint.fill("blood", Blob{in.organ(heart, -32.5, 96.5), 1.8 * mm, 1.8 * mm});
}

void paint_great_vessels(Painter& paint, const Layout& in)
{
  paint.tube("aorta", "blood", beside_spine(in, 21.0, 2.0, 12.5, 12.5, 0.0), 2.0 * mm);
  paint.fill("blood", beside_spine(in, -9.0, 3.5, 3.5, 3.0, 0.0));  // azygos vein
  paint.tube("oesophagus", "air", beside_spine(in, 1.0, 11.5, 9.0, 5.0, 8.0), 3.4 * mm);
}

}  // namespace

LevelForm thorax_form()
{
  return {.outline = {2.7, 3.4, 0.52, 4.0 * mm, 30.0 * mm},
          .layers = 42.35 * mm,
          .spine = 74.0 * mm,
          .half_breadth = 151.0 * mm,
          .forward = 128.0 * mm,
          .half_breadths = {115.0 * mm, 210.0 * mm},
          .forwards = {84.0 * mm, 200.0 * mm}};
}

void paint_thorax(Painter& paint, const Layout& in)
{
  paint_chest_wall(paint, in);
  paint_lungs(paint, in);
  paint_mediastinum(paint, in);
  paint_back(paint, in);
  paint_heart(paint, in);
  paint_great_vessels(paint, in);
}

}  // namespace torsowave::geometry::torso
