#include <gtest/gtest.h>

#include <cstddef>
#include <random>

#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

/// Root mean square of the relative area error over 12 placements of a shape in the grid.
template <class MakeShape>
double area_error(MakeShape make, double exact, double cell)
{
  std::mt19937 generator(7);
  std::uniform_real_distribution<double> any(-0.5, 0.5);
  const int n = 2 * static_cast<int>(std::ceil(0.11 / cell)) + 6;
  constexpr int placements = 12;
  double squares = 0.0;
  for (int k = 0; k < placements; ++k) {
    const Point center{any(generator) * cell, any(generator) * cell};
    const TissueMap map = voxelise(centred(n, n, cell), "air", {{"gel", make(center)}},
                                   {}, Averaging::volume);
    const double error = area_of(map, "gel") / exact - 1.0;
    squares += error * error;
  }
  return std::sqrt(squares / placements);
}

// What is left is the rounding to 1/256 in each cut cell, without bias: about 8 n cells,
// each off by 1/(256 sqrt(12)) rms, over an area of pi n^2 cells: 1.0e-3 n^-1.5,
// order 1.5.
TEST(Area, CircleConvergesToItsClosedForm)
{
  const double radius = 0.0973;
  const auto make = [&](Point c) { return Circle{c, radius}; };
  std::vector<double> cells;
  std::vector<double> errors;
  for (const int per_radius : {5, 10, 20, 40, 80}) {
    cells.push_back(radius / per_radius);
    errors.push_back(area_error(make, pi * radius * radius, cells.back()));
  }

  EXPECT_LT(errors[2], 2e-5) << "20 cells per radius";
  EXPECT_GT(order_of_convergence(cells, errors), 1.3);
}

TEST(Area, RotatedEllipseConvergesToItsClosedForm)
{
  const double a = 0.0973;
  const double b = 0.041;
  const auto make = [&](Point c) { return Ellipse{c, a, b, 0.61}; };
  std::vector<double> cells;
  std::vector<double> errors;
  for (const int per_radius : {5, 10, 20, 40, 80}) {
    cells.push_back(b / per_radius);
    errors.push_back(area_error(make, pi * a * b, cells.back()));
  }

  EXPECT_LT(errors[2], 2e-5) << "20 cells per smaller semi-axis";
  EXPECT_GT(order_of_convergence(cells, errors), 1.3);
}

// Along a straight edge the roundings repeat with the edge's slope and do not average out
// as well: order 1 at the worst. (With a quantum of 1/32768 the error at 2 mm is 3e-7, so
// that what is measured here is the quantum and not the cutting.)
TEST(Area, ConcavePolygonConvergesToItsClosedForm)
{
  const std::vector<Point> arrow{
      {-0.08, -0.03}, {0.09, 0.011}, {-0.05, 0.07}, {-0.02, 0.01}};
  double twice = 0.0;  // the surveyor's formula
  for (std::size_t k = 0; k < arrow.size(); ++k) {
    const Point p = arrow[k];
    const Point q = arrow[(k + 1) % arrow.size()];
    twice += p.x * q.y - p.y * q.x;
  }
  const auto make = [&](Point c) {
    Polygon moved;
    for (const Point p : arrow) {
      moved.points.push_back({p.x + c.x, p.y + c.y});
    }
    return moved;
  };
  std::vector<double> cells;
  std::vector<double> errors;
  for (const double cell : {8 * mm, 4 * mm, 2 * mm, 1 * mm, 0.5 * mm}) {
    cells.push_back(cell);
    errors.push_back(area_error(make, 0.5 * std::abs(twice), cell));
  }

  EXPECT_LT(errors[2], 1e-4);
  EXPECT_GT(order_of_convergence(cells, errors), 0.95);
}

TEST(Area, RectangleIsExactToTheQuantum)  // edges on multiples of 1/16 of a cell
{
  const double cell = 0.25 * mm;
  const Rectangle box{{-3.0625 * cell, -2.125 * cell}, {5.5 * cell, 7.9375 * cell}};
  const TissueMap map =
      voxelise(centred(24, 24, cell), "air", {{"gel", box}}, {}, Averaging::volume);

  EXPECT_NEAR(area_of(map, "gel"), 8.5625 * 10.0625 * cell * cell, 1e-12 * cell * cell);
}

TEST(Area, CircleSmallerThanACellIsKept)
{
  const double cell = 1 * mm;
  const TissueMap map = voxelise(centred(8, 8, cell), "air",
                                 {{"gel", Circle{{0.43 * mm, 0.51 * mm}, 0.3 * mm}}}, {},
                                 Averaging::volume);

  EXPECT_NEAR(area_of(map, "gel"), pi * 0.09 * cell * cell, 1.0 / 256 * cell * cell);
}

TEST(Area, AllAreasAddUpToTheRaster)
{
  const Raster raster = centred(170, 120, 0.9 * mm);
  double sum = 0.0;
  for (const double area : areas_by_tissue(
           voxelise(raster, "air", mirrored_slice(), {}, Averaging::volume))) {
    sum += area;
  }

  EXPECT_NEAR(sum, 170 * 120 * 0.81e-6, 1e-15);
}

/// A wall of `width` cells, turned by `angle`, must keep its area and show in each cell
/// row.
void expect_wall(double width, double angle)
{
  const double cell = 0.5 * mm;
  const double half = 20.3 * cell;
  const Point u{std::cos(angle), std::sin(angle)};
  Polygon wall;
  for (const auto& [s, t] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}}) {
    const double across = 0.5 * width * cell * t;
    wall.points.push_back({0.137 * cell + s * half * u.x - across * u.y,
                           0.291 * cell + s * half * u.y + across * u.x});
  }
  const TissueMap map =
      voxelise(centred(50, 50, cell), "air", {{"wall", wall}}, {}, Averaging::volume);

  const double area = 2.0 * half * width * cell;
  EXPECT_NEAR(area_of(map, "wall") / area, 1.0, 0.02) << width << " cells at " << angle;
  for (int i = 10; i < 40; ++i) {  // clear of the ends
    double column = 0.0;
    for (int j = 0; j < 50; ++j) {
      for (const Share& share : map.palette[map.cells[map.raster.at(i, j)]]) {
        column += share.tissue == 1 ? share.quanta / 256.0 : 0.0;
      }
    }
    EXPECT_NEAR(column, width / std::cos(angle), 0.012 + 0.02 * width)
        << width << " cells at " << angle << ", column " << i;
  }
}

TEST(Area, ThinWallsAreNotLost)
{
  for (const double width : {0.4, 0.1, 0.05}) {
    for (const double angle : {0.0, 0.02, 0.3, 0.6}) {
      expect_wall(width, angle);
    }
  }
}

TEST(Area, ThinRingBetweenTwoEllipsesIsNotLost)
{
  const double cell = 0.5 * mm;
  const double width = 0.4 * cell;
  const double a = 20 * mm;
  const double b = 14 * mm;
  const TissueMap map =
      voxelise(centred(100, 80, cell), "air",
               {{"wall", Ellipse{{0.1 * mm, 0.2 * mm}, a, b, 0.5}},
                {"gas", Ellipse{{0.1 * mm, 0.2 * mm}, a - width, b - width, 0.5}}},
               {}, Averaging::volume);

  const double exact = pi * (a * b - (a - width) * (b - width));
  EXPECT_NEAR(area_of(map, "wall") / exact, 1.0, 2e-3);
}

}  // namespace
}  // namespace torsowave::geometry
