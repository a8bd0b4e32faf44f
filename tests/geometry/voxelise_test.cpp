#include <gtest/gtest.h>
#include <omp.h>

#include <algorithm>
#include <functional>
#include <limits>
#include <stdexcept>

#include "geometry/paint_stack.hpp"
#include "geometry/palette.hpp"
#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

std::string error_of(const std::function<void()>& action)
{
  try {
    action();
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
  return "no std::invalid_argument";
}

void voxelise_small(const std::vector<Shape>& shapes,
                    const std::vector<Shape>& capsules = {})
{
  (void)voxelise(centred(8, 8, 1 * mm), "air", shapes, capsules, Averaging::volume);
}

TEST(Quantise, GivesTheLargestRemainderTheOddQuantum)
{
  // 256 * (1, 2, 4) / 7 = 36 4/7, 73 1/7, 146 2/7
  EXPECT_EQ(quantise(std::vector<std::uint64_t>{1, 2, 4}),
            (Mixture{{0, 37}, {1, 73}, {2, 146}}));
  EXPECT_EQ(quantise(std::vector<std::uint64_t>{0, 511, 513}),
            (Mixture{{1, 128}, {2, 128}}));
  EXPECT_EQ(quantise(std::vector<std::uint64_t>{3, 0, 100000}), (Mixture{{2, 256}}));
}

TEST(Voxelise, QuantaSumToTheWholeAndMixturesAreInOrder)
{
  const TissueMap map = voxelise(centred(170, 120, 0.9 * mm), "air", mirrored_slice(), {},
                                 Averaging::volume);

  ASSERT_EQ(map.cells.size(), map.raster.size());
  ASSERT_EQ(map.labels.size(), map.raster.size());
  for (std::size_t t = 0; t < map.tissues.size(); ++t) {
    EXPECT_EQ(map.palette[t], (Mixture{{static_cast<std::uint16_t>(t), 256}}));
  }
  for (const Mixture& mixture : map.palette) {
    int sum = 0;
    for (std::size_t k = 0; k < mixture.size(); ++k) {
      EXPECT_GT(mixture[k].quanta, 0);
      EXPECT_TRUE(k == 0 || mixture[k - 1].tissue < mixture[k].tissue);
      sum += mixture[k].quanta;
    }
    EXPECT_EQ(sum, fraction_quantum);
  }
  EXPECT_LT(*std::ranges::max_element(map.cells), map.palette.size());
  EXPECT_TRUE(std::ranges::is_sorted(
      map.palette.begin() + static_cast<std::ptrdiff_t>(map.tissues.size()),
      map.palette.end(), [](const Mixture& a, const Mixture& b) {
        return std::ranges::lexicographical_compare(a, b, [](Share x, Share y) {
          return std::pair{x.tissue, x.quanta} < std::pair{y.tissue, y.quanta};
        });
      }));
}

TEST(Voxelise, NumbersTissuesByFirstAppearanceOnce)
{
  const TissueMap map = voxelise(centred(170, 120, 0.9 * mm), "air", mirrored_slice(),
                                 {{"resin", Circle{{}, 2 * mm}}}, Averaging::volume);

  EXPECT_EQ(map.tissues, (std::vector<std::string>{"air", "muscle", "fat", "skin", "film",
                                                   "lung", "bone", "blood", "resin"}));
}

// The oracle: the tissue at each of 32 x 32 points of a cell, one point at a time.
TEST(Voxelise, AgreesWithPlainSamplingOfEveryCell)
{
  constexpr int n = 32;
  const Raster raster{62, 44, 2.3 * mm, {-71.1 * mm, -50.3 * mm}};
  const std::vector<Shape> capsule{{"resin", Circle{{3 * mm, -1 * mm}, 5 * mm}}};
  const PaintStack stack("air", mirrored_slice(), capsule);
  const TissueMap map =
      voxelise(raster, "air", mirrored_slice(), capsule, Averaging::volume);
  double squares = 0.0;
  double worst = 0.0;
  int mixed = 0;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      std::vector<double> share(map.tissues.size(), 0.0);
      for (int k = 0; k < n * n; ++k) {
        const int row = k / n;
        const double u = (k % n + 0.5) / n;
        const double v = (row + 0.5) / n;
        share[stack.tissue_at({raster.x_of(i + u), raster.y_of(j + v)})] += 1.0 / (n * n);
      }
      const Mixture& mixture = map.palette[map.cells[raster.at(i, j)]];
      mixed += mixture.size() > 1 ? 1 : 0;
      for (const Share& s : mixture) {
        share[s.tissue] -= s.quanta / 256.0;
      }
      for (const double difference : share) {
        squares += difference * difference;
        worst = std::max(worst, std::abs(difference));
      }
    }
  }

  RecordProperty("rms", std::to_string(std::sqrt(squares / mixed)));
  RecordProperty("worst", std::to_string(worst));
  EXPECT_GT(mixed, 400);
  // Rounding to 1/256 gives 1.1e-3 rms. The oracle's own error is larger: an edge along
  // its rows of points moves by up to half a row, 1/64.
  EXPECT_LT(std::sqrt(squares / mixed), 4e-3);
  EXPECT_LT(worst, 1.0 / 64 + 1.0 / 256);
}

TEST(Voxelise, LabelsAreTheTissueAtTheCentre)
{
  const Raster raster{97, 67, 1.7 * mm, {-80.2 * mm, -55.9 * mm}};
  const TissueMap map = voxelise(raster, "air", mirrored_slice(), {}, Averaging::volume);
  const TissueMap stairs = voxelise(raster, "air", mirrored_slice(), {}, Averaging::none);
  const PaintStack stack("air", mirrored_slice(), {});
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      EXPECT_EQ(map.labels[raster.at(i, j)], stack.tissue_at({raster.x(i), raster.y(j)}))
          << i << ", " << j;
    }
  }

  EXPECT_EQ(stairs.labels, map.labels);
  EXPECT_EQ(stairs.cells, map.labels);
  EXPECT_EQ(stairs.palette.size(), map.tissues.size());
}

void expect_mirrored(int nx, int ny, double cell)
{
  const TissueMap map =
      voxelise(centred(nx, ny, cell), "air", mirrored_slice(), {}, Averaging::volume);
  int differences = 0;
  for (int j = 0; j < ny; ++j) {
    for (int i = 0; i < nx; ++i) {
      const std::size_t here = map.raster.at(i, j);
      const std::size_t there = map.raster.at(nx - 1 - i, j);
      differences += map.cells[here] != map.cells[there] ? 1 : 0;
      differences += map.labels[here] != map.labels[there] ? 1 : 0;
    }
  }
  EXPECT_EQ(differences, 0) << nx << " x " << ny << " cells of " << cell;
}

TEST(Voxelise, KeepsMirrorSymmetryToTheLastBit)
{
  expect_mirrored(171, 120, 0.9 * mm);
  expect_mirrored(320, 230, 0.5 * mm);
  expect_mirrored(523, 371, 0.3 * mm);
  expect_mirrored(220, 150, 0.7 * mm);
}

TEST(Voxelise, IsTheSameForAnyNumberOfThreads)
{
  const Raster raster = centred(170, 120, 0.9 * mm);
  const int before = omp_get_max_threads();
  omp_set_num_threads(1);
  const TissueMap one = voxelise(raster, "air", mirrored_slice(), {}, Averaging::volume);
  omp_set_num_threads(2);
  const TissueMap two = voxelise(raster, "air", mirrored_slice(), {}, Averaging::volume);
  omp_set_num_threads(before);

  EXPECT_EQ(one.cells, two.cells);
  EXPECT_EQ(one.labels, two.labels);
  EXPECT_EQ(one.palette, two.palette);
}

TEST(Voxelise, PaintsLaterOverEarlierAndCapsulesLast)
{
  const std::vector<Shape> shapes{{"a", Circle{{}, 5 * mm}},
                                  {"b", Rectangle{{0.0, -2 * mm}, {9 * mm, 2 * mm}}},
                                  {"a", Circle{{4 * mm, 0.0}, 1 * mm}}};
  const PaintStack stack("air", shapes, {{"c", Circle{{-4 * mm, 0.0}, 0.5 * mm}}});
  const auto name = [&](Point p) { return stack.tissues()[stack.tissue_at(p)]; };

  EXPECT_EQ(name({-2 * mm, 0.0}), "a");
  EXPECT_EQ(name({2 * mm, 0.0}), "b");
  EXPECT_EQ(name({4.5 * mm, 0.0}), "a");
  EXPECT_EQ(name({-4.4 * mm, 0.0}), "c");
  EXPECT_EQ(name({-6 * mm, 0.0}), "air");
  EXPECT_EQ(tissue_at({2 * mm, 0.0}, "air", shapes), "b");
}

TEST(Voxelise, PolygonIsTheSameInEitherOrientationAndClosedOrNot)
{
  std::vector<Point> points{
      {-7 * mm, -4 * mm}, {8 * mm, -1 * mm}, {0.0, 0.0}, {2 * mm, 9 * mm}};
  const Raster raster = centred(60, 60, 0.37 * mm);
  const auto cells = [&] {
    return voxelise(raster, "air", {{"a", Polygon{points}}}, {}, Averaging::volume).cells;
  };
  const std::vector<std::uint16_t> forward = cells();
  points.push_back(points.front());
  EXPECT_EQ(cells(), forward);
  std::ranges::reverse(points);
  EXPECT_EQ(cells(), forward);
}

TEST(Voxelise, RefusesShellsWithoutAnOutline)
{
  EXPECT_EQ(
      error_of([] {
        voxelise_small({{"skin", Shell{1 * mm}}});
      }),
      "shape 1 (skin): a shell follows the outline of the shapes before it, and there "
      "is none");
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Circle{{}, 1 * mm}}}, {{"gas", Shell{1 * mm}}});
            }),
            "capsule 1 (gas): a capsule can't be a shell");
}

TEST(Voxelise, RefusesDegenerateShapes)
{
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Circle{{}, -1.0}}});
            }),
            "shape 1 (fat): radius must be finite and > 0 [m], got -1");
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Ellipse{{}, 1.0, 0.0, 0.0}}});
            }),
            "shape 1 (fat): semi_axis_y must be finite and > 0 [m], got 0");
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Rectangle{{1, 0}, {1, 2}}}});
            }),
            "shape 1 (fat): max.x - min.x must be finite and > 0 [m], got 0");
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Polygon{{{0, 0}, {1, 0}, {1, 0}}}}});
            }),
            "shape 1 (fat): a polygon needs at least 3 different points, got 2");
  EXPECT_EQ(error_of([] {
              voxelise_small(
                  {{"fat", Circle{{std::numeric_limits<double>::quiet_NaN(), 0}, 1.0}}});
            }),
            "shape 1 (fat): center must be finite, got nan");
  EXPECT_EQ(error_of([] {
              voxelise_small({{"fat", Circle{{}, 1.0}}, {"skin", Shell{0.0}}});
            }),
            "shape 2 (skin): thickness must be finite and > 0 [m], got 0");
}

TEST(Voxelise, RefusesARasterWithoutCells)
{
  EXPECT_THROW((void)voxelise({0, 5, 1 * mm, {}}, "air", {}, {}, Averaging::none),
               std::invalid_argument);
  EXPECT_THROW((void)voxelise({5, 5, 0.0, {}}, "air", {}, {}, Averaging::none),
               std::invalid_argument);
}

TEST(Voxelise, RefusesAPaletteThatOverflows)
{
  TissueMap map;
  map.raster = centred(300, 300, 1.0);
  map.tissues.assign(400, "x");
  map.cells.assign(map.raster.size(), 0);
  std::vector<CutCell> cut;
  for (std::uint16_t t = 1; t < 400; ++t) {
    for (std::uint16_t quanta = 1; quanta < 200; ++quanta) {
      const auto rest = static_cast<std::uint16_t>(256 - quanta);
      cut.push_back({cut.size(), {{0, quanta}, {t, rest}}});
    }
  }
  EXPECT_THROW(fill_palette(map, cut), std::invalid_argument);

  cut.resize(65535 - 400);
  fill_palette(map, cut);
  EXPECT_EQ(map.palette.size(), 65535U);
  EXPECT_EQ(map.palette[map.cells[1234]], cut[1234].mixture);
}

TEST(BoundingBox, HoldsRotatedEllipsesAndIgnoresShells)
{
  const Rectangle box = bounding_box({{"a", Ellipse{{1.0, 2.0}, 3.0, 1.0, 0.5 * pi}},
                                      {"b", Circle{{-1.0, 2.0}, 0.5}},
                                      {"c", Shell{7.0}}});

  EXPECT_NEAR(box.min.x, -1.5, 1e-12);
  EXPECT_NEAR(box.max.x, 2.0, 1e-12);
  EXPECT_NEAR(box.min.y, -1.0, 1e-12);
  EXPECT_NEAR(box.max.y, 5.0, 1e-12);
  EXPECT_THROW((void)bounding_box({{"c", Shell{7.0}}}), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::geometry
