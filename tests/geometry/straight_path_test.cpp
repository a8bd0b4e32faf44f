#include "geometry/straight_path.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

Shape circle(const std::string& tissue, double x, double radius)
{
  return {tissue, Circle{{x, 0.0}, radius}};
}

/// Skin 2 mm, fat 8 mm, muscle 30 mm (invented), with a bubble of gas in the muscle.
std::vector<Shape> limb()
{
  return {circle("skin", 0.0, 40 * mm), circle("fat", 0.0, 38 * mm),
          circle("muscle", 0.0, 30 * mm), circle("air", -15 * mm, 5 * mm)};
}

struct Slice {
  Raster raster = centred(100, 100, 1 * mm);
  std::vector<Shape> shapes = limb();
  PaintStack paint{"air", shapes, {}};
  Body body = find_body(voxelise(raster, "air", shapes, {}, Averaging::volume));
};

void expect_pieces(const std::vector<PathPiece>& found,
                   const std::vector<PathPiece>& expected, double tolerance)
{
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t n = 0; n < found.size(); ++n) {
    EXPECT_EQ(found[n].tissue, expected[n].tissue) << n;
    EXPECT_NEAR(found[n].length, expected[n].length, tolerance) << n;
  }
}

constexpr std::uint16_t air = 0;
constexpr std::uint16_t skin = 1;
constexpr std::uint16_t fat = 2;
constexpr std::uint16_t muscle = 3;

TEST(StraightPath, ALineIsCutWhereTheTissueChanges)
{
  const Slice slice;
  const auto pieces = cut_line(slice.paint, {-45 * mm, 0.0}, {5 * mm, 0.0}, 0.125 * mm);
  expect_pieces(pieces,
                {{air, 5 * mm},
                 {skin, 2 * mm},
                 {fat, 8 * mm},
                 {muscle, 10 * mm},
                 {air, 10 * mm},
                 {muscle, 15 * mm}},
                2e-7);
}

// A chord at the height h of a circle of radius r is 2 sqrt(r^2 - h^2) long.
TEST(StraightPath, AnObliqueLineHasTheLengthsOfItsChords)
{
  const PaintStack paint("air", {circle("muscle", 0.0, 30 * mm)}, {});
  const double h = 18 * mm;
  const double c = std::cos(0.7);
  const double s = std::sin(0.7);
  const auto at = [&](double along) {
    return Point{along * c - h * s, along * s + h * c};
  };
  const auto pieces = cut_line(paint, at(-50 * mm), at(50 * mm), 0.1 * mm);
  expect_pieces(pieces, {{air, 26 * mm}, {1, 48 * mm}, {air, 26 * mm}}, 2e-7);
  expect_pieces(without_outside(pieces), {{1, 48 * mm}}, 2e-7);
}

TEST(StraightPath, TheShortestWayOutIsRadialInARoundBody)
{
  const Slice slice;
  for (const double angle : {0.0, 0.4, 1.3, 2.5, 4.0}) {
    const double rho = 20 * mm;
    const auto pieces = shortest_way_out(slice.paint, slice.raster, slice.body,
                                         {rho * std::cos(angle), rho * std::sin(angle)});
    ASSERT_TRUE(pieces);
    // It aims at an edge between cells: at most a cell beside the radius, 1 - cos of
    // which makes 2 % of 20 mm, and less of what lies before it.
    ASSERT_EQ(pieces->size(), 3U) << angle;
    expect_pieces(*pieces, {{muscle, 10 * mm}, {fat, 8 * mm}, {skin, 2 * mm}}, 0.2 * mm);
  }
}

TEST(StraightPath, GasInsideIsAPieceOfTheWay)
{
  const Slice slice;
  const auto pieces =
      shortest_way_out(slice.paint, slice.raster, slice.body, {-15 * mm, 0.0});
  ASSERT_TRUE(pieces);
  expect_pieces(*pieces,
                {{air, 5 * mm}, {muscle, 10 * mm}, {fat, 8 * mm}, {skin, 2 * mm}},
                0.2 * mm);
}

TEST(StraightPath, ThereIsNoWayOutFromOutsideOrWithoutAnEdge)
{
  const Slice slice;
  EXPECT_FALSE(
      shortest_way_out(slice.paint, slice.raster, slice.body, {45 * mm, 45 * mm}));
  const std::vector<Shape> everywhere{{"muscle", Rectangle{{-1, -1}, {1, 1}}}};
  const PaintStack paint("air", everywhere, {});
  const Body body =
      find_body(voxelise(slice.raster, "air", everywhere, {}, Averaging::volume));
  EXPECT_FALSE(shortest_way_out(paint, slice.raster, body, {0.0, 0.0}));
}

TEST(StraightPath, TheNearestCellOfTheBody)
{
  const Slice slice;
  const Point near = nearest_of_body(slice.raster, slice.body, {48 * mm, 0.5 * mm});
  EXPECT_NEAR(near.x, 39.5 * mm, 1e-12);
  EXPECT_NEAR(near.y, 0.5 * mm, 1e-12);
}

TEST(StraightPath, RefusesALineWithoutLengthOrStep)
{
  const Slice slice;
  EXPECT_THROW((void)cut_line(slice.paint, {}, {}, 1 * mm), std::invalid_argument);
  EXPECT_THROW((void)cut_line(slice.paint, {}, {1 * mm, 0.0}, 0.0),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::geometry
