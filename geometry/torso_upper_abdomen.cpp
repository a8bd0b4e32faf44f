/// The upper abdomen (twelfth thoracic vertebra). All sizes and places are invented.

#include <algorithm>

#include "geometry/torso_parts_internal.hpp"

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;

Blob beside_spine(const Layout& in, double x, double y, double a, double b, double turn)
{
  return {.center = {x * mm, in.at(0.0, 0.0).y + y * mm},
          .semi_axis_x = a * mm,
          .semi_axis_y = b * mm,
          .rotation = turn};
}

Curve along_and_through(const Layout& in, std::vector<Point> wall,
                        const std::vector<Point>& knots)
{
  for (const Point p : knots) {
    wall.push_back(in.at(p.x, p.y));
  }
  return smooth(wall);
}

void paint_wall(Painter& paint, const Layout& in)
{
  paint_ribs(paint, in,
             {{-58.0, -44.0}, {-35.0, -24.0}, {-13.0, -2.0}, {9.0, 20.0}, {29.0, 40.0}});
  paint_ribs(
      paint, in,
      {{225.0, 238.0}, {205.0, 216.0}, {183.0, 194.0}, {161.0, 172.0}, {141.0, 152.0}});
  paint.both("cartilage", in.strip(50.0, 63.0, -9.0, -1.5));
  paint_midline_tendon(paint, in);
}

void paint_back(Painter& paint, const Layout& in)
{
  paint.both("muscle", beside_spine(in, 33.0, -59.0, 29.0, 16.0, -5.0));
  paint_lumbar_vertebra(paint, in);
  // Pillars of the diaphragm on both sides of the aorta.
  const Point spine = in.at(0.0, 0.0);
  const auto pillar = [&](std::vector<Point> knots) {
    for (Point& p : knots) {
      p = {p.x * mm, spine.y + p.y * mm};
    }
    return smooth(knots);
  };
  paint.fill("muscle", pillar({{-25.0, -12.0},
                               {-19.0, -5.0},
                               {-9.0, 3.0},
                               {-4.0, 12.0},
                               {0.0, 24.0},
                               {-7.0, 27.0},
                               {-15.0, 16.0},
                               {-23.0, 2.0}}));
  paint.fill("muscle", pillar({{25.0, -12.0},
                               {30.0, -4.0},
                               {27.0, 10.0},
                               {18.0, 23.0},
                               {5.0, 29.0},
                               {2.0, 25.0},
                               {14.0, 18.0},
                               {21.0, 8.0},
                               {20.0, -6.0}}));
}

void paint_liver(Painter& paint, const Layout& in)
{
  paint.fill("liver", along_and_through(in, in.along(78.0, 226.0, 2.5),
                                        {{-74.0, -44.0},
                                         {-50.0, -34.0},
                                         {-40.0, -14.0},
                                         {-34.0, 6.0},
                                         {-16.0, 14.0},
                                         {-10.0, 30.0},
                                         {-14.0, 46.0},
                                         {2.0, 57.0},
                                         {24.0, 70.0},
                                         {46.0, 88.0},
                                         {52.0, 97.0},
                                         {44.0, 102.0}}));
  // Branches of the portal vein and veins that lead to the vena cava.
  const std::vector<Blob> branches{{in.at(-56.0, 40.0), 15.0 * mm, 5.0 * mm, 18.0},
                                   {in.at(-84.0, 34.0), 6.0 * mm, 4.0 * mm, -20.0},
                                   {in.at(-100.0, 8.0), 5.0 * mm, 3.5 * mm, 60.0},
                                   {in.at(-72.0, 8.0), 9.0 * mm, 3.4 * mm, 15.0},
                                   {in.at(-80.0, 72.0), 6.0 * mm, 3.4 * mm, 60.0},
                                   {in.at(-38.0, 72.0), 4.6 * mm, 3.6 * mm, 0.0},
                                   {in.at(-112.0, 46.0), 3.4 * mm, 3.0 * mm, 0.0},
                                   {in.at(0.0, 82.0), 4.4 * mm, 3.0 * mm, 20.0}};
  for (const Blob& branch : branches) {
    paint.fill("blood", branch);
  }
  // The fissure between the lobes.
  paint.fill("fat_average_infiltrated", in.through({{-20.0, 50.0},
                                                    {-15.0, 48.0},
                                                    {-10.0, 62.0},
                                                    {-7.0, 80.0},
                                                    {-9.0, 86.0},
                                                    {-14.0, 70.0}}));
}

void paint_left_side(Painter& paint, const Layout& in)
{
  paint.fill("spleen", along_and_through(in, in.along(-44.0, 2.0, 3.0),
                                         {{131.0, 33.0},
                                          {124.0, 32.0},
                                          {116.0, 18.0},
                                          {108.0, 2.0},
                                          {101.0, -10.0},
                                          {94.0, -18.0},
                                          {85.0, -34.0},
                                          {85.0, -44.0}}));
  const Curve stomach = in.through({{24.0, 40.0},
                                    {46.0, 24.0},
                                    {74.0, 16.0},
                                    {95.0, 24.0},
                                    {105.0, 42.0},
                                    {103.0, 64.0},
                                    {90.0, 84.0},
                                    {70.0, 96.0},
                                    {50.0, 88.0},
                                    {34.0, 70.0},
                                    {20.0, 54.0}});
  paint.tube_with_gas("stomach", "body_fluid", stomach, 4.0 * mm, 0.35);
  const Blob flexure{in.wall(24.5, 13.0),
                     11.5 * mm,
                     14.0 * mm * std::min(1.0, in.deeper()),
                     25.0,
                     0.04,
                     0.05,
                     40.0};
  paint.tube_with_gas("colon", "body_fluid", outline_of(flexure), 2.5 * mm, 0.6);
  paint.fill("pancreas", in.through({{34.0, 22.0},
                                     {52.0, 10.0},
                                     {72.0, 2.0},
                                     {88.0, 2.0},
                                     {88.0, 10.0},
                                     {70.0, 13.0},
                                     {52.0, 20.0},
                                     {40.0, 30.0}}));
  paint.fill("kidney", beside_spine(in, 58.0, -24.0, 19.0, 20.0, 20.0));
  paint.fill("gland", beside_spine(in, 37.0, 2.0, 9.0, 2.4, 60.0));
  paint.fill("gland", beside_spine(in, 43.0, 1.0, 8.0, 2.2, 110.0));
}

/// The lowest recesses of the lungs behind liver and spleen, under the diaphragm.
void paint_recesses(Painter& paint, const Layout& in)
{
  paint.fill("muscle", in.strip(213.0, 233.0, -1.0, 12.0));
  paint.fill("lung_inflated", in.strip(214.0, 232.0, 1.0, 9.0));
  paint.fill("muscle", in.strip(306.0, 325.0, -1.0, 12.0));
  paint.fill("lung_inflated", in.strip(307.0, 324.0, 1.0, 9.0));
}

void paint_vessels(Painter& paint, const Layout& in)
{
  paint.tube("aorta", "blood", beside_spine(in, 8.0, 12.5, 11.0, 11.0, 0.0), 2.0 * mm);
  paint.tube("blood_vessel_wall", "blood",
             Blob{in.at(-29.0, 21.0), 13.0 * mm, 11.0 * mm, 20.0}, 1.0 * mm);
}

}  // namespace

LevelForm upper_abdomen_form()
{
  return {.outline = {2.5, 3.2, 0.53, 4.0 * mm, 27.0 * mm},
          .layers = 32.35 * mm,
          .spine = 80.5 * mm,
          .half_breadth = 141.0 * mm,
          .forward = 110.0 * mm,
          .half_breadths = {112.0 * mm, 205.0 * mm},
          .forwards = {72.0 * mm, 195.0 * mm}};
}

void paint_upper_abdomen(Painter& paint, const Layout& in)
{
  paint_wall(paint, in);
  paint_liver(paint, in);
  paint_left_side(paint, in);
  paint_recesses(paint, in);
  paint_back(paint, in);
  paint_vessels(paint, in);
}

}  // namespace torsowave::geometry::torso
