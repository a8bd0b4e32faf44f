#include "geometry/body_surface.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <stdexcept>
#include <vector>

#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

TissueMap mapped(const Raster& raster, const std::vector<Shape>& shapes)
{
  return voxelise(raster, "air", shapes, {}, Averaging::volume);
}

/// Closed: normals add up to nothing, and each edge has the inside on its own side only.
void expect_closed(const Raster& raster, const Contour& contour)
{
  int sum_i = 0;
  int sum_j = 0;
  std::size_t crossings = 0;
  for (const ContourEdge& e : contour.edges) {
    EXPECT_EQ(std::abs(e.di) + std::abs(e.dj), 1);
    EXPECT_EQ(contour.inside[raster.at(e.i, e.j)], 1);
    EXPECT_EQ(contour.inside[raster.at(e.i + e.di, e.j + e.dj)], 0);
    sum_i += e.di;
    sum_j += e.dj;
  }
  for (int j = 0; j + 1 < raster.ny; ++j) {
    for (int i = 0; i + 1 < raster.nx; ++i) {
      const int here = contour.inside[raster.at(i, j)];
      crossings += here != contour.inside[raster.at(i + 1, j)] ? 1U : 0U;
      crossings += here != contour.inside[raster.at(i, j + 1)] ? 1U : 0U;
    }
  }
  EXPECT_EQ(sum_i, 0);
  EXPECT_EQ(sum_j, 0);
  EXPECT_EQ(crossings, contour.edges.size());
}

TEST(Contour, RectangleHasItsExactPerimeter)
{
  const Raster raster = centred(30, 20, 1 * mm);
  const Contour contour = rectangle_contour(raster, 3);

  EXPECT_EQ(contour.edges.size(), 2U * (24 + 14));
  expect_closed(raster, contour);
}

TEST(Contour, RefusesTheRimAndBadMargins)
{
  const Raster raster = centred(5, 4, 1 * mm);
  std::vector<std::uint8_t> mask(raster.size(), 0);
  mask[raster.at(4, 2)] = 1;

  EXPECT_THROW((void)contour_of(raster, mask), std::invalid_argument);
  EXPECT_THROW((void)contour_of(raster, {1, 0}), std::invalid_argument);
  EXPECT_THROW((void)rectangle_contour(raster, 0), std::invalid_argument);
  EXPECT_THROW((void)rectangle_contour(raster, 2), std::invalid_argument);
  EXPECT_EQ(rectangle_contour(raster, 1).edges.size(), 2U * (3 + 2));
}

// Discrete divergence theorem: the flux through the contour is the sum of the cells' own.
TEST(Contour, ObeysTheDivergenceTheorem)
{
  const Raster raster = centred(170, 120, 0.9 * mm);
  const TissueMap map = mapped(raster, mirrored_slice());
  const Contour contour = body_surface(map, find_body(map));
  expect_closed(raster, contour);

  const auto flux_x = [](long i, long j) { return 3 * i * i + i * j; };
  const auto flux_y = [](long i, long j) { return j * j * j - 7 * i; };
  // The edge's flux component stands at the edge's own index: (i, j) to (i + 1, j) at i
  // + 1.
  long through = 0;
  for (const ContourEdge& e : contour.edges) {
    through += e.di * flux_x(e.i + (e.di > 0 ? 1 : 0), e.j);
    through += e.dj * flux_y(e.i, e.j + (e.dj > 0 ? 1 : 0));
  }
  long within = 0;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (contour.inside[raster.at(i, j)]) {
        within += flux_x(i + 1, j) - flux_x(i, j) + flux_y(i, j + 1) - flux_y(i, j);
      }
    }
  }
  EXPECT_EQ(through, within);
  EXPECT_NE(through, 0);
}

TEST(FindBody, FillsHolesAndCountsThemInTheArea)
{
  const double r = 20 * mm;
  const std::vector<Shape> ring{
      {"gel", Circle{{3.3 * mm, -2.2 * mm}, r}},
      {"air", Ellipse{{3 * mm, -2 * mm}, 13 * mm, 9 * mm, 0.3}}};
  const TissueMap map = mapped(centred(120, 120, 0.5 * mm), ring);
  const Body body = find_body(map);

  EXPECT_EQ(body.cells[map.raster.at(65, 56)], 1) << "in the hole";
  EXPECT_NEAR(body.area / (pi * r * r), 1.0, 1e-4);
  EXPECT_NEAR(body.centroid.x, 3.3 * mm, 0.02 * mm);
  EXPECT_NEAR(body.centroid.y, -2.2 * mm, 0.02 * mm);
  expect_closed(map.raster, body_surface(map, body));
}

TEST(FindBody, LeavesABayOpen)
{
  const TissueMap map =
      mapped(centred(40, 40, 1 * mm),
             {{"gel", Rectangle{{-10 * mm, -10 * mm}, {10 * mm, 10 * mm}}},
              {"air", Rectangle{{-2 * mm, -5 * mm}, {2 * mm, 11 * mm}}}});
  const Body body = find_body(map);

  EXPECT_EQ(body.cells[map.raster.at(20, 20)], 0);
  EXPECT_NEAR(body.area, (400.0 - 60.0) * mm * mm, 1e-12);
}

TEST(FindBody, CountsTheClearance)
{
  const Raster raster = centred(40, 30, 1 * mm);
  const auto clearance = [&](double left) {
    return find_body(
               mapped(raster, {{"gel", Rectangle{{left, -5 * mm}, {5 * mm, 5 * mm}}}}))
        .clearance;
  };

  EXPECT_EQ(clearance(-17 * mm), 3);
  EXPECT_EQ(clearance(-17.01 * mm), 2) << "a share of 1 % counts";
  EXPECT_EQ(clearance(-19.5 * mm), 0);
  EXPECT_EQ(clearance(-5 * mm), 10);
}

TEST(FindBody, RefusesASliceOfBackground)
{
  EXPECT_THROW((void)find_body(mapped(centred(9, 9, 1 * mm), {})), std::invalid_argument);
}

TEST(BodySurface, LiesOneCellOutside)
{
  const TissueMap map =
      mapped(centred(40, 30, 1 * mm),
             {{"gel", Rectangle{{-8 * mm, -5.5 * mm}, {4 * mm, 5 * mm}}}});
  const Contour contour = body_surface(map, find_body(map));

  EXPECT_EQ(contour.edges.size(), 2U * (12 + 2 + 11 + 2));
  EXPECT_EQ(contour.inside[map.raster.at(11, 8)], 1);
  EXPECT_EQ(contour.inside[map.raster.at(10, 8)], 0);
}

TEST(BodySurface, TakesInAPocketThatItWouldCutOff)
{
  // A bay of 6 x 6 cells behind a mouth of 2.
  const TissueMap map =
      mapped(centred(40, 40, 1 * mm),
             {{"gel", Rectangle{{-10 * mm, -10 * mm}, {10 * mm, 10 * mm}}},
              {"air", Rectangle{{-3 * mm, -3 * mm}, {3 * mm, 3 * mm}}},
              {"air", Rectangle{{-1 * mm, 0.0}, {1 * mm, 10 * mm}}}});
  const Body body = find_body(map);
  ASSERT_EQ(body.cells[map.raster.at(20, 20)], 0) << "the bay is outside the body";

  EXPECT_EQ(body_surface(map, body).edges.size(), 4U * 22);
}

TEST(BodySurface, NeedsTwoCellsOfBackground)
{
  const TissueMap map =
      mapped(centred(40, 30, 1 * mm),
             {{"gel", Rectangle{{-19 * mm, -5 * mm}, {4 * mm, 5 * mm}}}});

  EXPECT_THROW((void)body_surface(map, find_body(map)), std::invalid_argument);
}

TEST(BodyReach, IsThatOfADiscWithinTheDiagonalOfACell)
{
  const TissueMap map =
      mapped(centred(90, 50, 1 * mm), {{"gel", Circle{{20 * mm, 3 * mm}, 15 * mm}}});
  const std::vector<double> angles{0.0, 0.3, std::atan2(3.0, 20.0), pi};
  const BodyReach reach = body_reach(map.raster, find_body(map), angles);

  const double most = std::sqrt(2.0) * mm;
  for (std::size_t n = 0; n < 3; ++n) {
    // Where the ray leaves the disc, by the quadratic equation.
    const double along = 20 * mm * std::cos(angles[n]) + 3 * mm * std::sin(angles[n]);
    const double beside = 3 * mm * std::cos(angles[n]) - 20 * mm * std::sin(angles[n]);
    const double exact = along + std::sqrt(225 * mm * mm - beside * beside);
    EXPECT_GE(reach.to_skin[n], exact) << n;
    EXPECT_LE(reach.to_skin[n], exact + most) << n;
  }
  EXPECT_EQ(reach.to_skin[3], 0.0) << "the disc is on the other side";
  EXPECT_GE(reach.extent, 30 * mm);
  EXPECT_LE(reach.extent, 30 * mm + 2.0 * most);
}

}  // namespace
}  // namespace torsowave::geometry
