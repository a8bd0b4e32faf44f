// Where the skin is between the cells, and the contour cut by rays.

#include "geometry/sectors.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "geometry/skin_finder.hpp"
#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

TissueMap gel_in(const Raster& raster, const Shape& shape)
{
  return voxelise(raster, "air", {shape}, {}, Averaging::volume);
}

// A half-plane at 40 slopes, looked at straight and aslant. A share is rounded to 1/256:
// three cut cells of a column put its end off by 3/512 of a cell at most.
TEST(SkinFinder, FindsAStraightSkinAtAnySlope)
{
  const Raster raster = centred(60, 60, 1 * mm);
  for (int n = 0; n < 40; ++n) {
    const double normal = 2.0 * pi * n / 40 + 0.03;
    const Point out{std::cos(normal), std::sin(normal)};
    const double skin = 0.11 * n * mm;  // from the origin
    const auto corner = [&](double along, double across) {
      return Point{along * out.x - across * out.y, along * out.y + across * out.x};
    };
    const TissueMap map =
        gel_in(raster,
               {"gel", Polygon{{corner(skin, -20 * mm), corner(skin, 20 * mm),
                                corner(-20 * mm, 20 * mm), corner(-20 * mm, -20 * mm)}}});
    const Body body = find_body(map);
    const SkinFinder finder(map, body);
    for (const double aslant : {-0.7, 0.0, 0.4}) {
      const Point from = corner(skin + 2.3 * mm, 0.37 * mm);
      const auto way =
          finder.distance(from, {-std::cos(normal + aslant), -std::sin(normal + aslant)});
      ASSERT_TRUE(way) << n;
      EXPECT_NEAR(*way * std::cos(aslant) / mm, 2.3, 0.009) << n << ", " << aslant;
    }
  }
}

// Measured: 0.0061 of a cell at most.
TEST(SkinFinder, FindsARoundSkin)
{
  const double radius = 17.3 * mm;
  const TissueMap map =
      gel_in(centred(60, 60, 1 * mm), {"gel", Circle{{0.3 * mm, -0.2 * mm}, radius}});
  const Body body = find_body(map);
  const SkinFinder finder(map, body);
  for (int n = 0; n < 100; ++n) {
    const Point out{std::cos(0.0628 * n), std::sin(0.0628 * n)};
    const auto way = finder.distance(
        {0.3 * mm + (radius + 2 * mm) * out.x, -0.2 * mm + (radius + 2 * mm) * out.y},
        {-out.x, -out.y});
    ASSERT_TRUE(way) << n;
    EXPECT_NEAR(*way / mm, 2.0, 0.012) << n;
  }
}

TEST(SkinFinder, SaysWhereThereIsNoSkinNearby)
{
  const TissueMap map =
      gel_in(centred(60, 60, 1 * mm),
             {"gel", Rectangle{{-10 * mm, -10 * mm}, {10 * mm, 10 * mm}}});
  const Body body = find_body(map);
  const SkinFinder finder(map, body);

  EXPECT_FALSE(finder.distance({20 * mm, 0.0}, {-1.0, 0.0})) << "10 cells away";
  EXPECT_FALSE(finder.distance({12 * mm, 0.0}, {1.0, 0.0})) << "the other way";
  EXPECT_FALSE(finder.distance({5 * mm, 0.0}, {-1.0, 0.0})) << "within";
  EXPECT_NEAR(finder.distance({12 * mm, 0.0}, {-1.0, 0.0}).value(), 2 * mm, 1e-12);
}

TEST(Sectors, EndWhereTheRaysMeetTheSkin)
{
  const double radius = 20.3 * mm;
  const TissueMap map =
      gel_in(centred(70, 70, 1 * mm), {"gel", Circle{{0.0, 0.0}, radius}});
  const Body body = find_body(map);
  const Contour contour = body_surface(map, body);
  const Sectors sectors = cut_sectors(
      map, body, contour, rectangle_contour(map.raster, 1).inside, {0.0, 0.0}, 12);

  EXPECT_EQ(sectors.of_edge.size(), contour.edges.size());
  ASSERT_EQ(sectors.ends.size(), 12U);
  std::set<int> begun;
  for (const SectorEnd& end : sectors.ends) {
    EXPECT_EQ(end.to, (end.from + 1) % 12);
    begun.insert(end.to);
    const double ray = 2.0 * pi * (end.from + 0.5) / 12;
    EXPECT_NEAR(end.away.x, std::cos(ray), 1e-12);
    EXPECT_NEAR(end.away.y, std::sin(ray), 1e-12);
    EXPECT_NEAR(end.skin.x, radius * std::cos(ray), 0.03 * mm);
    EXPECT_NEAR(end.skin.y, radius * std::sin(ray), 0.03 * mm);
    EXPECT_GT(end.gap, 0.99 * mm);
    EXPECT_LT(end.gap, 3 * mm);
    EXPECT_GE(end.first_sample, 2 * mm);
    EXPECT_GE(end.behind, 0.0);
    EXPECT_LE(end.behind, 1.0);
  }
  EXPECT_EQ(begun.size(), 12U);
}

// Fields behind the limit are not asked for: the end stays on the contour.
TEST(Sectors, StayWithinTheLimit)
{
  const TissueMap map =
      gel_in(centred(70, 70, 1 * mm), {"gel", Circle{{0.0, 0.0}, 20 * mm}});
  const Body body = find_body(map);
  const Contour contour = body_surface(map, body);
  const Sectors sectors = cut_sectors(map, body, contour, contour.inside, {0.0, 0.0}, 12);

  ASSERT_EQ(sectors.ends.size(), 12U);
  EXPECT_TRUE(std::ranges::all_of(sectors.ends,
                                  [](const SectorEnd& end) { return end.gap == 0.0; }));
}

}  // namespace
}  // namespace torsowave::geometry
