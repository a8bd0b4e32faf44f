#include "geometry/staggered_map.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <numeric>

namespace torsowave::geometry {
namespace {

const std::vector<double> contrast{1.0, 50.0};

Raster square(int cells)
{
  return {cells, cells, 1e-3, {-0.5e-3 * cells, -0.5e-3 * cells}};
}

StaggeredMap cut(const Raster& raster, const Outline& outline,
                 Averaging averaging = Averaging::volume)
{
  return cut_staggered(raster, "air", {{"muscle", outline}}, {}, averaging, contrast);
}

TEST(StaggeredMap, NodesOfACircleHaveItsNormalAndItsArea)
{
  const Raster raster = square(60);
  const Point centre{0.13e-3, -0.27e-3};
  const double radius = 20.3e-3;
  const StaggeredMap map = cut(raster, Circle{centre, radius});
  ASSERT_EQ(map.nodes.size(), 61U * 61U);
  ASSERT_GT(map.mixed.size(), 150U);
  double quanta = 0.0;
  for (const MixedNode& node : map.mixed) {
    int all = 0;
    for (const Share& share : node.mixture) {
      all += share.quanta;
      quanta += share.tissue == 1 ? share.quanta : 0;
    }
    EXPECT_EQ(all, node_quantum);
    const double x = raster.x_of(node.i) - centre.x;
    const double y = raster.y_of(node.j) - centre.y;
    const double cosine =
        std::abs(node.normal.x * x + node.normal.y * y) / std::hypot(x, y);
    EXPECT_GT(cosine, std::cos(1.5 * std::numbers::pi / 180.0))
        << node.i << " " << node.j;
  }
  for (const std::uint16_t tissue : map.nodes) {
    quanta += tissue == 1 ? node_quantum : 0;
  }
  EXPECT_NEAR(quanta / node_quantum * raster.cell * raster.cell,
              std::numbers::pi * radius * radius, 1e-4 * radius * radius);
}

TEST(StaggeredMap, SidesOfANodeAreMeasuredAlongTheLine)
{
  // Muscle right of x = 0.3 mm, 0.3 cells right of the node in the middle.
  const Raster raster = square(20);
  const StaggeredMap map = cut(raster, Rectangle{{0.3e-3, -1.0}, {1.0, 1.0}});
  ASSERT_EQ(map.mixed.size(), 21U);
  const MixedNode& node = map.mixed[10];
  EXPECT_EQ(node.i, 10);
  EXPECT_NEAR(std::abs(node.normal.x), 1.0, 1e-12);
  const double mean = 0.8 * 1.0 + 0.2 * 50.0;
  EXPECT_NEAR(node.sides[0], 1.0 / mean, 0.01 / mean);
  EXPECT_NEAR(node.sides[1], 50.0 / mean, 0.5 / mean);
  EXPECT_NEAR(node.sides[2], 1.0, 0.01);
  EXPECT_NEAR(node.sides[3], 1.0, 0.01);
}

TEST(StaggeredMap, AThinLayerThroughANodeHasANormalAcrossIt)
{
  const Raster raster = square(20);
  const StaggeredMap map = cut(raster, Rectangle{{-1.0, -0.1e-3}, {1.0, 0.1e-3}});
  ASSERT_EQ(map.mixed.size(), 21U);
  for (const MixedNode& node : map.mixed) {
    EXPECT_EQ(node.j, 10);
    EXPECT_NEAR(std::abs(node.normal.y), 1.0, 1e-12);
  }
}

TEST(StaggeredMap, WithoutAveragingEdgesHaveTheTissueAtTheirMidpoint)
{
  const Raster raster = square(20);
  const StaggeredMap map = cut(raster, Circle{{}, 6.2e-3}, Averaging::none);
  EXPECT_TRUE(map.nodes.empty());
  EXPECT_TRUE(map.mixed.empty());
  for (int e = 0; e <= 20; ++e) {
    for (int i = 0; i < 20; ++i) {
      const bool inside = std::hypot(raster.x(i), raster.y_of(e)) < 6.2e-3;
      EXPECT_EQ(map.x_edges[map.x_edge_at(i, e)], inside ? 1 : 0);
      const bool inside_y = std::hypot(raster.x_of(e), raster.y(i)) < 6.2e-3;
      EXPECT_EQ(map.y_edges[map.y_edge_at(e, i)], inside_y ? 1 : 0);
    }
  }
}

TEST(StaggeredMap, RefusesTooFewContrasts)
{
  EXPECT_THROW(cut_staggered(square(20), "air", {{"muscle", Circle{{}, 6e-3}}}, {},
                             Averaging::volume, {1.0}),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::geometry
