/// \file
/// \brief Slices given as pixels: areas, coats over them, ties, what is refused.

#include "geometry/label_grid.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <stdexcept>

#include "geometry/label_parts.hpp"
#include "geometry/slices.hpp"
#include "geometry/staggered_map.hpp"
#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {
namespace {

/// Pixels from rows of digits, the first row in front (largest y), 0 is air.
LabelGrid grid_of(const std::vector<std::string>& rows, double pixel_x, double pixel_y,
                  Point corner)
{
  LabelGrid grid;
  grid.nx = static_cast<int>(rows.front().size());
  grid.ny = static_cast<int>(rows.size());
  grid.pixel_x = pixel_x;
  grid.pixel_y = pixel_y;
  grid.corner = corner;
  grid.tissues = {"air", "fat", "muscle", "bone"};
  for (std::size_t row = rows.size(); row-- > 0;) {
    for (const char c : rows[row]) {
      grid.pixels.push_back(static_cast<std::uint16_t>(c - '0'));
    }
  }
  grid.body = {corner, {corner.x + grid.nx * pixel_x, corner.y + grid.ny * pixel_y}};
  return grid;
}

std::vector<Shape> painted(LabelGrid grid)
{
  return {{"", LabelMap{std::make_shared<const LabelGrid>(std::move(grid))}}};
}

TissueMap cut(const Raster& raster, const std::vector<Shape>& shapes,
              Averaging averaging = Averaging::volume)
{
  return voxelise(raster, "air", shapes, {}, averaging);
}

const std::vector<std::string> picture{"0110", "1220", "1230", "0110"};

TEST(LabelGrid, CellsThatShareEdgesWithPixelsArePure)
{
  // 0.1 mm has no exact double: edges must meet all the same.
  for (const double pixel : {1 * mm, 0.1 * mm, 0.7 * mm}) {
    const auto shapes = painted(grid_of(picture, pixel, pixel, {-2 * pixel, -2 * pixel}));
    for (const int parts : {1, 2, 3}) {
      const TissueMap map = cut(centred(8 * parts, 8 * parts, pixel / parts), shapes);
      EXPECT_EQ(map.palette.size(), 4U);
      EXPECT_NEAR(area_of(map, "fat"), 6 * pixel * pixel, 1e-12 * mm * mm);
      EXPECT_NEAR(area_of(map, "bone"), pixel * pixel, 1e-12 * mm * mm);
    }
  }
}

TEST(LabelGrid, SharesAreTheOverlapOfPixelAndCell)
{
  // Cells of 3 mm over pixels of 2 mm x 1.5 mm: the cell from (0, 0) holds 2/3 by 1/2 of
  // each neighbour's area, by hand.
  const auto shapes = painted(grid_of({"12", "31"}, 2 * mm, 1.5 * mm, {0.0, 0.0}));
  const TissueMap map = cut({1, 1, 3 * mm, {0.0, 0.0}}, shapes);
  ASSERT_EQ(map.palette.size(), 5U);
  const Mixture& mixture = map.palette[map.cells[0]];
  // bone 2/3 x 1/2, fat 1/3 x 1/2 + 2/3 x 1/2, muscle 1/3 x 1/2 of 256: 85.3, 128, 42.7
  EXPECT_EQ(mixture, (Mixture{{1, 128}, {2, 43}, {3, 85}}));
  EXPECT_EQ(map.labels[0], 1);  // at (1.5 mm, 1.5 mm), an edge: the pixel above it
  const TissueMap plain = cut({1, 1, 3 * mm, {0.0, 0.0}}, shapes, Averaging::none);
  EXPECT_EQ(plain.cells[0], plain.labels[0]);
}

TEST(LabelGrid, NearestTakesTheTissueAtTheCentre)
{
  LabelGrid grid = grid_of({"12", "31"}, 2 * mm, 2 * mm, {0.0, 0.0});
  grid.resampling = Resampling::nearest;
  const TissueMap map = cut({2, 2, 1.9 * mm, {0.0, 0.0}}, painted(grid));
  EXPECT_EQ(map.palette.size(), 4U);
  EXPECT_EQ(map.cells, (std::vector<std::uint16_t>{3, 1, 1, 2}));
  EXPECT_EQ(map.cells, map.labels);
}

TEST(LabelGrid, BeyondThePixelsIsBackground)
{
  const auto shapes = painted(grid_of({"11", "11"}, 1 * mm, 1 * mm, {-1 * mm, -1 * mm}));
  const TissueMap map = cut(centred(3, 3, 1 * mm), shapes);
  EXPECT_NEAR(area_of(map, "fat"), 4 * mm * mm, 1e-9 * mm * mm);
  EXPECT_EQ(map.palette[map.cells[0]], (Mixture{{0, 192}, {1, 64}}));
  EXPECT_EQ(map.palette[map.cells[4]], (Mixture{{1, 256}}));
}

TEST(LabelGrid, ShapesAndCapsulesArePaintedOverPixels)
{
  // A disc over pixels of two tissues, cells askew to both: areas as pi r^2 says, halved
  // by the seam of the pixels through its centre.
  auto shapes = painted(grid_of({"12"}, 20 * mm, 40 * mm, {-20 * mm, -20 * mm}));
  shapes.push_back({"bone", Circle{{0.0, 0.0}, 6 * mm}});
  shapes.push_back({"air", Circle{{0.0, 0.0}, 3 * mm}});  // the background's own tissue
  const Raster raster{57, 57, 0.77 * mm, {-21.3 * mm, -20.9 * mm}};
  const TissueMap map = cut(raster, shapes);
  const double disc = pi * 36 * mm * mm;
  const double hole = pi * 9 * mm * mm;
  EXPECT_NEAR(area_of(map, "bone"), disc - hole, 0.1 * mm * mm);
  EXPECT_NEAR(area_of(map, "fat"), 800 * mm * mm - disc / 2, 0.2 * mm * mm);
  EXPECT_NEAR(area_of(map, "muscle"), 800 * mm * mm - disc / 2, 0.2 * mm * mm);
  EXPECT_EQ(tissue_at({0.0, 0.0}, "air", shapes), "air");
  EXPECT_EQ(tissue_at({4 * mm, 0.0}, "air", shapes), "bone");
  EXPECT_EQ(tissue_at({-9 * mm, 0.0}, "air", shapes), "fat");
  EXPECT_EQ(tissue_at({9 * mm, 0.0}, "air", shapes), "muscle");
}

TEST(LabelGrid, PixelsCutAsPolygonsOfTheSameOutlineAre)
{
  const auto pixels = painted(grid_of(picture, 1 * mm, 1.3 * mm, {-2 * mm, -2.6 * mm}));
  std::vector<Shape> boxes;
  for (int j = 0; j < 4; ++j) {
    for (int i = 0; i < 4; ++i) {
      const char label =
          picture[static_cast<std::size_t>(3 - j)][static_cast<std::size_t>(i)];
      const double x = (i - 2) * mm;
      const double y = (j - 2) * 1.3 * mm;
      boxes.push_back({std::vector<std::string>{"air", "fat", "muscle", "bone"}.at(
                           static_cast<std::size_t>(label - '0')),
                       Rectangle{{x, y}, {x + 1 * mm, y + 1.3 * mm}}});
    }
  }
  const Raster raster{17, 19, 0.37 * mm, {-3.1 * mm, -3.4 * mm}};
  for (const char* tissue : {"fat", "muscle", "bone"}) {
    EXPECT_NEAR(area_of(cut(raster, pixels), tissue), area_of(cut(raster, boxes), tissue),
                0.02 * mm * mm)
        << tissue;
  }
  const std::vector<double> contrast{1.0, 5.0, 50.0, 12.0};
  const StaggeredMap a =
      cut_staggered(raster, "air", pixels, {}, Averaging::volume, contrast);
  EXPECT_EQ(a.tissues.size(), 4U);
  EXPECT_GT(a.mixed.size(), 20U);
  EXPECT_NEAR(bounding_box(pixels).max.y, 2.6 * mm, 1e-12);
}

TEST(LabelGrid, TooManyMixturesAreRoundedTogether)
{
  // 300 x 300 pixels of 40 tissues at random, cells askew: more than 65535 mixtures.
  LabelGrid grid = grid_of({"1"}, 1 * mm, 1 * mm, {-150 * mm, -150 * mm});
  grid.nx = 300;
  grid.ny = 300;
  grid.body = {{-150 * mm, -150 * mm}, {150 * mm, 150 * mm}};
  grid.tissues.clear();
  for (int t = 0; t < 40; ++t) {
    grid.tissues.push_back("tissue " + std::to_string(t));
  }
  std::uint32_t state = 1;  // a fixed sequence
  grid.pixels.clear();
  for (int p = 0; p < 90'000; ++p) {
    state = state * 1664525U + 1013904223U;
    grid.pixels.push_back(static_cast<std::uint16_t>((state >> 16U) % 40U));
  }
  const auto shapes = painted(grid);
  const TissueMap map = cut(centred(310, 310, 0.97 * mm), shapes);
  EXPECT_GT(map.share_step, 1);
  for (const Mixture& mixture : map.palette) {
    int sum = 0;
    for (const Share& share : mixture) {
      sum += share.quanta;
      EXPECT_EQ(share.quanta % map.share_step, 0);
    }
    ASSERT_EQ(sum, fraction_quantum);
  }
}

TEST(LabelGrid, WhatCannotBePaintedIsRefused)
{
  const auto map = painted(grid_of(picture, 1 * mm, 1 * mm, {0.0, 0.0}));
  const Raster raster = centred(4, 4, 1 * mm);
  const auto refused = [&](const std::vector<Shape>& shapes) {
    EXPECT_THROW(static_cast<void>(cut(raster, shapes)), std::invalid_argument);
  };
  refused({map[0], {"skin", Shell{1 * mm}}});
  refused({{"fat", Circle{{}, 1 * mm}}, map[0]});
  refused({map[0], map[0]});
  for (const int fault : {0, 1, 2, 3, 4}) {
    LabelGrid grid = grid_of(picture, 1 * mm, 1 * mm, {0.0, 0.0});
    if (fault == 0) {
      grid.nx = 0;
    } else if (fault == 1) {
      grid.pixels.pop_back();
    } else if (fault == 2) {
      grid.pixel_y = std::numeric_limits<double>::quiet_NaN();
    } else if (fault == 3) {
      grid.pixels.back() = 4;
    } else {
      grid.body = {};
    }
    refused(painted(grid));
  }
}

// A ring of fat about a hole with one pixel of muscle; bone outside.
const std::vector<std::string> ring{"0000000", "0111110", "0100010", "0102010",
                                    "0100010", "0111113", "0000003"};

TEST(LabelParts, AreCountedByTissueAndSize)
{
  const LabelGrid grid = grid_of(ring, 1 * mm, 1 * mm, {-3.5 * mm, -3.5 * mm});
  const LabelParts few = label_parts(grid, "air", 3);

  ASSERT_EQ(few.tissues.size(), 4U);
  EXPECT_EQ(few.tissues[0].parts, 2U) << "outside and hole";
  EXPECT_EQ(few.tissues[0].small, 0U);
  EXPECT_EQ(few.tissues[1].parts, 1U);
  EXPECT_EQ(few.tissues[2].small_pixels, 1U);
  EXPECT_EQ(few.tissues[3].parts, 1U);
  EXPECT_EQ(few.tissues[3].small_pixels, 2U);
  EXPECT_EQ(few.holes, 1U);
  EXPECT_EQ(few.small_holes, 0U);
  // The hole has 8 pixels.
  EXPECT_EQ(label_parts(grid, "air", 9).small_holes, 1U);
  EXPECT_EQ(label_parts(grid, "air", 9).tissues[0].small_pixels, 8U);
}

TEST(LabelParts, HangTogetherOverEdgesNotCorners)
{
  const LabelParts parts =
      label_parts(grid_of({"00110", "01101", "01001"}, 1 * mm, 1 * mm, {}), "air", 0);

  EXPECT_EQ(parts.tissues[1].parts, 2U);
  EXPECT_EQ(parts.tissues[0].parts, 3U);
  EXPECT_EQ(parts.holes, 0U) << "each meets the rim";
}

TEST(LabelParts, TellWhatLiesInTheBody)
{
  const LabelGrid grid = grid_of(ring, 1 * mm, 1 * mm, {-3.5 * mm, -3.5 * mm});
  const auto inside = [&](double x, double y) {
    return in_mapped_body(grid, "air", {x * mm, y * mm});
  };

  EXPECT_TRUE(inside(0.0, 0.0)) << "muscle";
  EXPECT_TRUE(inside(1.0, 0.0)) << "in the hole";
  EXPECT_TRUE(inside(2.0, 0.0)) << "in the ring";
  EXPECT_FALSE(inside(-3.0, 0.0));
  EXPECT_FALSE(inside(10.0, 0.0)) << "beside the map";
  // Closed but for a corner.
  const LabelGrid corner =
      grid_of({"00000", "00110", "01010", "01110", "00000"}, 1 * mm, 1 * mm, {});
  EXPECT_TRUE(in_mapped_body(corner, "air", {2.5 * mm, 2.5 * mm}));
  EXPECT_FALSE(in_mapped_body(corner, "air", {1.5 * mm, 3.5 * mm}));
}

}  // namespace
}  // namespace torsowave::geometry
