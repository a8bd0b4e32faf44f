#include <gtest/gtest.h>

#include <random>

#include "geometry/paint_stack.hpp"
#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

TEST(Shell, AroundACircleIsAnAnnulus)
{
  const double radius = 60.3 * mm;
  const double thickness = 7.1 * mm;
  const double exact = pi * thickness * (2.0 * radius - thickness);
  std::vector<double> cells;
  std::vector<double> errors;
  for (const double cell : {4 * mm, 2 * mm, 1 * mm, 0.5 * mm}) {
    double squares = 0.0;
    for (int k = 0; k < 8; ++k) {
      const int n = 2 * static_cast<int>(70 * mm / cell);
      const TissueMap map =
          voxelise(centred(n, n, cell), "air",
                   {{"fat", Circle{{0.11 * k * cell, 0.07 * k * cell}, radius}},
                    {"skin", Shell{thickness}}},
                   {}, Averaging::volume);
      const double error = area_of(map, "skin") / exact - 1.0;
      squares += error * error / 8;
    }
    cells.push_back(cell);
    errors.push_back(std::sqrt(squares));
  }

  EXPECT_LT(errors[2], 1e-4);
  EXPECT_GT(order_of_convergence(cells, errors), 1.3);
}

/// Perimeter of an ellipse by the trapezoidal rule, which converges exponentially here.
double perimeter(double a, double b)
{
  constexpr int n = 2000;
  double sum = 0.0;
  for (int k = 0; k < n; ++k) {
    const double t = 2.0 * pi * k / n;
    sum += std::hypot(a * std::sin(t), b * std::cos(t));
  }
  return sum * 2.0 * pi / n;
}

// Inner parallel curve at t, up to the least radius of curvature: the strip's area is
// L t - pi t^2 (J. Steiner, Ueber parallele Flaechen, 1840; from memory).
TEST(Shell, AroundAnEllipseHasSteinersArea)
{
  const double a = 60 * mm;
  const double b = 40 * mm;
  const double cell = 0.5 * mm;
  for (const double thickness : {0.2 * mm, 2 * mm, 15 * mm}) {
    const TissueMap map = voxelise(
        centred(260, 260, cell), "air",
        {{"fat", Ellipse{{0.3 * mm, -0.1 * mm}, a, b, 0.3}}, {"skin", Shell{thickness}}},
        {}, Averaging::volume);
    const double exact = perimeter(a, b) * thickness - pi * thickness * thickness;
    // Two curves of at most L cut 4 / pi * L / h cells each; 1/(256 sqrt(12)) rms in
    // each.
    const double cut = 2.0 * 4.0 / pi * perimeter(a, b) / cell;
    const double sigma = std::sqrt(cut) / (256.0 * std::sqrt(12.0)) * cell * cell / exact;
    EXPECT_NEAR(area_of(map, "skin") / exact, 1.0, 3.0 * sigma) << thickness;
  }
}

TEST(Shell, AroundAnEllipseAgreesWithADenseSearch)
{
  const double a = 60 * mm;
  const double b = 25 * mm;
  const double thickness = 18 * mm;  // beyond the least radius of curvature, 10.4 mm
  const PaintStack stack(
      "air", {{"fat", Ellipse{{}, a, b, 0.0}}, {"skin", Shell{thickness}}}, {});
  std::mt19937 generator(3);
  std::uniform_real_distribution<double> any(-1.0, 1.0);
  int inside = 0;
  for (int k = 0; k < 400; ++k) {
    const Point p{a * any(generator), b * any(generator)};
    double least = 1.0;
    for (int n = 0; n < 20000; ++n) {
      const double t = 2.0 * pi * n / 20000;
      least = std::min(least, std::hypot(a * std::cos(t) - p.x, b * std::sin(t) - p.y));
    }
    if (std::abs(least - thickness) < 1e-6) {
      continue;  // the search itself is no better than that
    }
    const bool in_body = (p.x / a) * (p.x / a) + (p.y / b) * (p.y / b) <= 1.0;
    const std::string expected = !in_body ? "air" : least < thickness ? "skin" : "fat";
    EXPECT_EQ(stack.tissues()[stack.tissue_at(p)], expected) << p.x << ", " << p.y;
    inside += in_body ? 1 : 0;
  }
  EXPECT_GT(inside, 200);
}

TEST(Shell, RoundsTheReflexCornerOfAnL)  // closed form: two strips and a quarter disc
{
  const double a = 20 * mm;
  const double t = 3 * mm;
  const Polygon shape{{{0, 0}, {2 * a, 0}, {2 * a, a}, {a, a}, {a, 2 * a}, {0, 2 * a}}};
  const TissueMap map =
      voxelise({110, 110, 0.4 * mm, {-1.3 * mm, -1.1 * mm}}, "air",
               {{"fat", shape}, {"skin", Shell{t}}}, {}, Averaging::volume);

  const double inner = 2.0 * (2.0 * a - 2.0 * t) * (a - 2.0 * t) -
                       (a - 2.0 * t) * (a - 2.0 * t) + t * t * (1.0 - 0.25 * pi);
  EXPECT_NEAR(area_of(map, "fat") / inner, 1.0, 1e-5);
  EXPECT_NEAR(area_of(map, "fat") + area_of(map, "skin"), 3.0 * a * a, 1e-5 * a * a);
}

TEST(Shell, FollowsTheUnionOfTwoCirclesAndNotTheHiddenArcs)
{
  const double radius = 30 * mm;
  const double c = 18 * mm;
  const double t = 4 * mm;
  const std::vector<Shape> shapes{{"fat", Circle{{-c, 0.0}, radius}},
                                  {"fat", Circle{{c, 0.0}, radius}},
                                  {"skin", Shell{t}}};
  const PaintStack stack("air", shapes, {});
  const auto name = [&](Point p) { return stack.tissues()[stack.tissue_at(p)]; };
  const double waist =
      std::sqrt(radius * radius - c * c);  // the outlines cross at (0, +-24)
  std::mt19937 generator(5);
  std::uniform_real_distribution<double> any(-1.0, 1.0);
  int probes = 0;
  for (int k = 0; k < 2000; ++k) {
    const Point p{(c + radius) * any(generator), radius * any(generator)};
    // By symmetry look at x >= 0 alone: distance to the visible arc of the right circle.
    const double x = std::abs(p.x);
    const double from_center = std::hypot(x - c, p.y);
    const bool visible = from_center > 0.0 && c + radius * (x - c) / from_center > 0.0;
    const double distance =
        visible ? std::abs(radius - from_center) : std::hypot(x, std::abs(p.y) - waist);
    if (std::abs(distance - t) < 1e-6 || std::abs(from_center - radius) < 1e-9) {
      continue;
    }
    const bool in_union = from_center < radius;
    EXPECT_EQ(name(p), !in_union      ? "air"
                       : distance < t ? "skin"
                                      : "fat")
        << p.x << ", " << p.y;
    ++probes;
  }
  EXPECT_GT(probes, 1900);
  EXPECT_EQ(name({-c + radius, 0.0}), "fat");  // the middle of a hidden arc
  EXPECT_EQ(name({0.0, waist - 0.5 * t}), "skin");
}

TEST(Shell, HasNoRindAlongASeam)
{
  const std::vector<Shape> halves{
      {"fat", Rectangle{{-20 * mm, -9 * mm}, {3.3 * mm, 9 * mm}}},
      {"fat", Rectangle{{3.3 * mm, -9 * mm}, {20 * mm, 9 * mm}}},
      {"skin", Shell{2.1 * mm}}};
  const std::vector<Shape> whole{
      {"fat", Rectangle{{-20 * mm, -9 * mm}, {20 * mm, 9 * mm}}},
      {"skin", Shell{2.1 * mm}}};
  const Raster raster = centred(90, 60, 0.5 * mm);

  EXPECT_EQ(voxelise(raster, "air", halves, {}, Averaging::volume).cells,
            voxelise(raster, "air", whole, {}, Averaging::volume).cells);
}

TEST(Shell, SurvivesAShapePaintedTwice)
{
  const Shape first{"fat", Ellipse{{}, 20 * mm, 15 * mm, 0.2}};
  const Shape again{"muscle", first.outline};
  const Raster raster = centred(90, 80, 0.5 * mm);
  const TissueMap once =
      voxelise(raster, "air", {first, {"skin", Shell{2 * mm}}}, {}, Averaging::volume);
  const TissueMap twice = voxelise(raster, "air", {first, again, {"skin", Shell{2 * mm}}},
                                   {}, Averaging::volume);

  EXPECT_NEAR(area_of(twice, "skin") / area_of(once, "skin"), 1.0, 1e-6);
  EXPECT_EQ(area_of(twice, "fat"), 0.0);
}

TEST(Shell, StartsFromTheSameOutlineAfterAnEarlierShell)
{
  const double r = 30 * mm;
  const TissueMap map = voxelise(
      centred(160, 160, 0.4 * mm), "air",
      {{"muscle", Circle{{}, r}}, {"fat", Shell{10 * mm}}, {"skin", Shell{2 * mm}}}, {},
      Averaging::volume);

  EXPECT_NEAR(area_of(map, "skin") / (pi * 2 * mm * (2 * r - 2 * mm)), 1.0, 1e-4);
  EXPECT_NEAR(area_of(map, "fat") / (pi * 8 * mm * (2 * r - 12 * mm)), 1.0, 1e-4);
}

TEST(Shell, IgnoresShapesPaintedAfterItAndCapsules)
{
  const std::vector<Shape> body{{"fat", Circle{{}, 20 * mm}}, {"skin", Shell{3 * mm}}};
  std::vector<Shape> more = body;
  more.push_back({"bone", Circle{{19 * mm, 0.0}, 6 * mm}});
  const PaintStack stack("air", more, {{"gas", Circle{{0.0, 19 * mm}, 6 * mm}}});
  const auto name = [&](Point p) { return stack.tissues()[stack.tissue_at(p)]; };

  EXPECT_EQ(name({24.5 * mm, 0.0}), "bone");
  EXPECT_EQ(name({0.0, 24.5 * mm}), "gas");
  EXPECT_EQ(name({-18 * mm, 0.0}), "skin");
  EXPECT_EQ(name({12.9 * mm, 0.0}), "fat") << "just outside the bone";
}

}  // namespace
}  // namespace torsowave::geometry
