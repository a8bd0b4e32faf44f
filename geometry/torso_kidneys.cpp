/// The level of the kidneys (second lumbar vertebra). All sizes and places are invented.

#include "geometry/torso_parts_internal.hpp"

namespace torsowave::geometry::torso {
namespace {

constexpr double mm = 1e-3;

void paint_back(Painter& paint, const Layout& in)
{
  const Point spine = in.at(0.0, 0.0);
  const auto beside = [&](double x, double y, double a, double b, double turn) {
    return Blob{.center = {x * mm, spine.y + y * mm},
                .semi_axis_x = a * mm,
                .semi_axis_y = b * mm,
                .rotation = turn};
  };
  paint.both("muscle", beside(36.0, -58.0, 30.0, 18.0, -3.0));   // erector spinae
  paint.both("muscle", beside(63.0, -51.0, 19.0, 8.0, -4.0));    // quadratus lumborum
  paint.both("muscle", beside(35.0, -21.0, 14.0, 19.0, -12.0));  // psoas
}

/// Kidney, the fat of its sinus open to the front and the middle, and its pelvis.
void paint_kidney(Painter& paint, Point center, double side)
{
  const double turn = side * -26.0;
  const auto part = [&](double x, double y, double a, double b) {
    return Blob{.center = {center.x + side * x * mm, center.y + y * mm},
                .semi_axis_x = a * mm,
                .semi_axis_y = b * mm,
                .rotation = turn};
  };
  Blob whole = part(0.0, 0.0, 27.5, 30.0);
  whole.rotation = side * 12.0;
  whole.two = 0.03;
  whole.three = side * 0.02;
  paint.fill("kidney", whole);
  paint.fill("fat_average_infiltrated", part(-16.0, 8.0, 16.0, 8.5));
  paint.fill("body_fluid", part(-15.0, 6.5, 9.0, 3.6));
  paint.fill("blood", part(-23.0, 12.5, 5.0, 2.4));
}

void paint_vessels(Painter& paint, const Layout& in)
{
  const auto vessel = [&](double x, double y, double a, double b, double turn) {
    const Point spine = in.at(0.0, 0.0);
    return Blob{.center = {x * mm, spine.y + y * mm},
                .semi_axis_x = a * mm,
                .semi_axis_y = b * mm,
                .rotation = turn};
  };
  paint.tube("blood_vessel_wall", "blood", vessel(-19.0, 9.5, 13.0, 9.0, 14.0), 1.0 * mm);
  paint.tube("aorta", "blood", vessel(9.0, 11.5, 10.0, 10.0, 0.0), 2.0 * mm);
  paint.tube("blood_vessel_wall", "blood", vessel(-8.0, 31.0, 5.5, 5.0, 0.0), 0.8 * mm);
  paint.tube("blood_vessel_wall", "blood", vessel(8.5, 31.5, 4.0, 4.0, 0.0), 0.9 * mm);
}

void paint_liver(Painter& paint, const Layout& in)
{
  std::vector<Point> knots = in.along(148.0, 212.0, 2.5);
  for (const Point p : {Point{-108.0, -16.0}, Point{-101.0, 2.0}, Point{-88.0, 16.0},
                        Point{-80.0, 32.0}, Point{-84.0, 50.0}, Point{-95.0, 62.0}}) {
    knots.push_back(in.at(p.x, p.y));
  }
  paint.fill("liver", smooth(knots));
}

struct Gut {
  double x, y, a, b, turn;
  double gas;  ///< share of its height
};

void paint_guts(Painter& paint, const Layout& in, const std::string& rind, double wall,
                const std::vector<Gut>& guts)
{
  double phase = 20.0;
  for (const Gut& gut : guts) {
    phase += 70.0;
    const Blob blob{.center = in.at(gut.x, gut.y),
                    .semi_axis_x = gut.a * mm * in.wider(),
                    .semi_axis_y = gut.b * mm * in.deeper(),
                    .rotation = gut.turn,
                    .two = 0.04,
                    .three = 0.05,
                    .phase = phase};
    paint.tube_with_gas(rind, "body_fluid", outline_of(blob), wall * mm, gut.gas);
  }
}

void paint_bowel(Painter& paint, const Layout& in)
{
  // Ascending and descending colon; the transverse one hangs in front.
  paint_guts(paint, in, "colon", 2.5,
             {{-93.0, 67.0, 14.5, 12.0, 35.0, 0.5},
              {109.0, 26.0, 14.0, 15.0, 0.0, 0.0},
              {-64.0, 78.5, 16.5, 10.5, 14.0, 0.7},
              {-34.0, 84.0, 18.0, 11.0, 4.0, 0.8},
              {0.0, 85.0, 18.0, 10.5, -2.0, 0.7},
              {34.0, 84.0, 18.0, 11.0, -5.0, 0.0}});
  paint_guts(paint, in, "duodenum", 3.0, {{-52.0, 26.0, 15.0, 13.0, 10.0, 0.0}});
  paint_guts(paint, in, "small_intestine", 2.8,
             {{66.0, 78.0, 14.5, 10.5, -22.0, 0.3},
              {96.0, 60.0, 12.5, 16.0, 25.0, 0.0},
              {68.0, 54.0, 17.0, 12.0, 30.0, 0.5},
              {78.0, 28.0, 14.0, 11.0, -10.0, 0.0},
              {40.0, 61.0, 13.0, 13.0, 0.0, 0.0},
              {47.0, 32.0, 15.0, 10.0, 15.0, 0.4},
              {12.0, 61.0, 14.0, 11.0, -25.0, 0.0},
              {-17.0, 58.0, 15.0, 12.0, 20.0, 0.3},
              {-49.0, 58.0, 16.0, 12.0, -10.0, 0.0}});
}

}  // namespace

LevelForm kidneys_form()
{
  return {.outline = {2.4, 3.0, 0.55, 4.0 * mm, 25.0 * mm},
          .layers = 33.35 * mm,
          .spine = 80.5 * mm,
          .half_breadth = 129.0 * mm,
          .forward = 98.0 * mm,
          .half_breadths = {106.0 * mm, 190.0 * mm},
          .forwards = {60.0 * mm, 190.0 * mm}};
}

void paint_kidneys(Painter& paint, const Layout& in)
{
  paint_belly_wall(paint, in);
  paint_ribs(paint, in, {{-38.0, -26.0}, {216.0, 227.0}, {-14.0, -6.0}, {188.0, 196.0}});
  paint_back(paint, in);
  paint_lumbar_vertebra(paint, in);
  const Point spine = in.at(0.0, 0.0);
  const double aside = (76.0 + 40.0 * (in.wider() - 1.0)) * mm;
  paint_kidney(paint, {aside, spine.y - 13.0 * mm}, 1.0);
  paint_kidney(paint, {-aside, spine.y - 15.0 * mm}, -1.0);
  paint_liver(paint, in);
  paint_bowel(paint, in);
  paint_vessels(paint, in);
}

}  // namespace torsowave::geometry::torso
