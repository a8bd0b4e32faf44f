#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

#include "postproc/figure.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_sample.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/moment_picture.hpp"

namespace torsowave::postproc {
namespace {

// ---------------------------------------------------------------- colours

TEST(ColorMap, SequentialRisesInLightness)
{
  const auto lightness = [](int i) {
    return to_oklab(sequential_color(i / 255.0)).lightness;
  };
  // Rounding to 8 bits may set neighbours level or back by less than one level of one
  // channel (0.004 at most); over four entries the map itself must have won.
  for (int i = 0; i < 255; ++i) {
    EXPECT_GT(lightness(i + 1), lightness(i) - 0.001) << i;
  }
  for (int i = 0; i + 4 <= 255; ++i) {
    EXPECT_GT(lightness(i + 4), lightness(i)) << i;
  }
  // Ends of viridis (CC0; authors' table).
  expect_color(sequential_color(0.0), {68, 1, 84}, "bottom");
  expect_color(sequential_color(1.0), {253, 231, 37}, "top");
  expect_color(sequential_color(std::nan("")), sequential_color(-3.0), "not a number");
}

TEST(ColorMap, DivergingIsSymmetricInLightnessAndMonotoneInEachArm)
{
  double before = 2.0;
  for (int i = 0; i <= 100; ++i) {
    const OkLab high = to_oklab(diverging_color(i / 100.0));
    const OkLab low = to_oklab(diverging_color(-i / 100.0));
    EXPECT_NEAR(high.lightness, low.lightness, 0.006) << i;  // rounding to 8 bits
    EXPECT_LT(high.lightness, before + 1e-4) << i;
    before = high.lightness;
  }
  const OkLab middle = to_oklab(diverging_color(0.0));
  EXPECT_NEAR(std::hypot(middle.a, middle.b), 0.0, 1e-3);
  EXPECT_GT(diverging_color(1.0).red, diverging_color(1.0).blue);
  EXPECT_GT(diverging_color(-1.0).blue, diverging_color(-1.0).red);
}

TEST(ColorMap, OkLabKnowsWhiteAndComesBack)
{
  const OkLab white = to_oklab({255, 255, 255});
  EXPECT_NEAR(white.lightness, 1.0, 1e-4);
  EXPECT_NEAR(white.a, 0.0, 1e-4);
  EXPECT_NEAR(white.b, 0.0, 1e-4);
  for (const Color color : {Color{12, 200, 99}, Color{255, 0, 0}, Color{0, 0, 0}}) {
    expect_color(to_color(to_oklab(color)), color, "round trip");
  }
}

/// Full red-green deficiency in linear sRGB: Machado, Oliveira and Fernandes, IEEE Trans.
/// Vis. Comput. Graph. 15 (2009) 1291, deuteranomaly of severity 1.0 (from memory).
[[nodiscard]] Color as_deuteranope(Color color)
{
  const auto linear = [](std::uint8_t c) { return std::pow(c / 255.0, 2.2); };
  const auto coded = [](double v) {
    return static_cast<std::uint8_t>(
        std::lround(255.0 * std::pow(std::clamp(v, 0.0, 1.0), 1.0 / 2.2)));
  };
  const double r = linear(color.red);
  const double g = linear(color.green);
  const double b = linear(color.blue);
  return {coded(0.367322 * r + 0.860646 * g - 0.227968 * b),
          coded(0.280085 * r + 0.672501 * g + 0.047413 * b),
          coded(-0.011820 * r + 0.042940 * g + 0.968881 * b)};
}

[[nodiscard]] double distance(Color a, Color b)
{
  const OkLab p = to_oklab(a);
  const OkLab q = to_oklab(b);
  return std::hypot(p.lightness - q.lightness, p.a - q.a, p.b - q.b);
}

TEST(ColorMap, TissuesAreTellableApart)
{
  ASSERT_GE(tissue_color_count(), 20U);
  for (std::size_t i = 0; i < tissue_color_count(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const Color a = tissue_color(i);
      const Color b = tissue_color(j);
      EXPECT_GT(distance(a, b), 0.06) << i << ' ' << j;  // about three times just visible
      EXPECT_GT(distance(as_deuteranope(a), as_deuteranope(b)), 0.04) << i << ' ' << j;
    }
  }
  EXPECT_GT(to_oklab(tissue_color(0)).lightness, 0.95);
  expect_color(tissue_color(tissue_color_count()), tissue_color(1), "comes round");
}

// ---------------------------------------------------------------- numbers

TEST(FigureScale, TicksAreRoundNumbersInsideTheRange)
{
  const std::vector<double> ticks = round_ticks({-230.0, 230.0}, 12);
  ASSERT_EQ(ticks.size(), 9U);
  EXPECT_DOUBLE_EQ(ticks.front(), -200.0);
  EXPECT_DOUBLE_EQ(ticks.back(), 200.0);
  EXPECT_EQ(tick_texts(ticks).front(), "−200");
  EXPECT_EQ(tick_texts(ticks)[4], "0");
  EXPECT_EQ(tick_texts(round_ticks({0.0, 0.3}, 5)),
            (std::vector<std::string>{"0.0", "0.1", "0.2", "0.3"}));
  EXPECT_TRUE(round_ticks({1.0, 1.0}, 5).empty());
  EXPECT_EQ(round_ticks({-47.0, 47.0}, 5).size(), 5U);
  EXPECT_EQ(round_ticks({-47.0, 47.0}, 4).size(), 5U);  // steps of 50 leave one alone
  EXPECT_TRUE(round_ticks({1e12, 1e12 + 1e-3}, 5).empty());
  for (const double span : {1e-7, 0.03, 7.0, 999.0, 4e8}) {
    const auto many = round_ticks({-0.4 * span, 0.6 * span}, 8);
    EXPECT_GE(many.size(), 3U) << span;
    EXPECT_LE(many.size(), 8U) << span;
  }
}

TEST(FigureScale, RoundsUpAndFindsPercentiles)
{
  EXPECT_DOUBLE_EQ(round_up(0.0031), 0.004);
  EXPECT_DOUBLE_EQ(round_up(40.0), 40.0);
  EXPECT_DOUBLE_EQ(round_up(8.1), 10.0);
  std::vector<double> values;
  for (int i = 1000; i >= 0; --i) {
    values.push_back(i);
  }
  EXPECT_DOUBLE_EQ(percentile(values, 0.999), 999.0);
  EXPECT_EQ(frequency_text(403.5e6), "403.5 MHz");
  EXPECT_EQ(frequency_text(2.45e9), "2.45 GHz");
}

TEST(FigureScale, SnapshotRangeIgnoresNothingAndSpikes)
{
  std::vector<float> values(4000, 0.0F);
  for (std::size_t i = 0; i < 1000; ++i) {
    values[i] = i % 2 == 0 ? 2.5F : -2.5F;
  }
  values[0] = 1e6F;
  values[1] = std::nanf("");
  EXPECT_DOUBLE_EQ(symmetric_range(values), 2.5);
  EXPECT_DOUBLE_EQ(symmetric_range(std::vector<float>(5, 0.0F)), 1.0);
}

// ---------------------------------------------------------------- canvas and text

TEST(Canvas, CoversPixelsByTheirShare)
{
  Canvas canvas(4, 3);
  canvas.fill({1.0, 0.5, 1.5, 1.0}, {0, 0, 0});
  expect_color(canvas.at(1, 0), {128, 128, 128}, "half a pixel");
  expect_color(canvas.at(2, 0), {191, 191, 191}, "a quarter");
  expect_color(canvas.at(0, 0), {255, 255, 255}, "beside");
  EXPECT_NO_THROW(canvas.fill({-1e9, -5.0, 2e9, 3.0}, {9, 9, 9}));
  EXPECT_NO_THROW(canvas.segment({-50.0, 1.0}, {50.0, 1.0}, 2.0, {1, 2, 3}));
  EXPECT_THROW(Canvas(0, 5), std::invalid_argument);
}

TEST(Canvas, PathsAreEvenWherePiecesMeet)
{
  Coverage path(20, 5);
  path.add_segment({2.0, 2.5}, {10.0, 2.5}, 1.0);
  path.add_segment({10.0, 2.5}, {18.0, 2.5}, 1.0);
  for (int x = 3; x < 17; ++x) {
    EXPECT_FLOAT_EQ(path.at(x, 2), path.at(3, 2)) << x;
  }
}

TEST(Canvas, DotsHaveTheirRadius)
{
  Canvas canvas(40, 40);
  canvas.dots({{{20.0, 20.0}}, 8.0, {0, 0, 0}, std::nullopt});
  double ink = 0.0;  // in pixels
  for (std::size_t n = 0; n < canvas.pixels().size(); n += 3) {
    ink += 1.0 - canvas.pixels()[n] / 255.0;
  }
  EXPECT_NEAR(ink, std::numbers::pi * 64.0, 1.0);
  expect_color(canvas.at(29, 20), {255, 255, 255}, "beyond it");
}

TEST(Font, MeasuresWhatItDrawsAndShortens)
{
  const Font font(find_font_file());
  EXPECT_NEAR(font.advance("mmmm", 20.0), 4.0 * font.advance("m", 20.0), 1e-3);
  EXPECT_NEAR(font.advance("area", 40.0), 2.0 * font.advance("area", 20.0), 1e-3);
  const TextImage image = font.render("mm²", 30.0);
  EXPECT_GT(*std::max_element(image.coverage.begin(), image.coverage.end()), 200);
  const std::string shorter = font.fitted("a title that is too long", 20.0, 100.0);
  EXPECT_LE(font.advance(shorter, 20.0), 100.0);
  EXPECT_EQ(shorter.substr(shorter.size() - 3), "…");
  EXPECT_EQ(font.fitted("short", 20.0, 100.0), "short");
  EXPECT_NO_THROW(static_cast<void>(font.render("\xff\xe2\x82 broken \xc3", 20.0)));
}

// ---------------------------------------------------------------- cells to pixels

TEST(FigureRaster, AveragesByAreaAtAnyScale)
{
  const CellColors two{2, 1, 1, {{0, 0, 0}, {200, 100, 0}}};
  Canvas canvas(3, 1);
  paint_cells(canvas, {0, 0, 3, 1}, two);
  expect_color(canvas.at(0, 0), {0, 0, 0}, "first");
  expect_color(canvas.at(1, 0), {100, 50, 0}, "shared");
  expect_color(canvas.at(2, 0), {200, 100, 0}, "last");
  Canvas one(1, 1);
  paint_cells(one, {0, 0, 1, 1}, two);
  expect_color(one.at(0, 0), {100, 50, 0}, "shrunk");
}

TEST(FigureRaster, StrideSamplesAreSquaresAboutTheirCells)
{
  // 5 cells, every second kept: cells 0, 2, 4; their squares end at 1.5 and 3.5 cells.
  const CellColors cells{5, 1, 2, {{10, 10, 10}, {20, 20, 20}, {30, 30, 30}}};
  Canvas canvas(10, 1);
  paint_cells(canvas, {0, 0, 10, 1}, cells);
  for (int x = 0; x < 10; ++x) {
    const auto want = static_cast<std::uint8_t>(x < 3 ? 10 : x < 7 ? 20 : 30);
    expect_color(canvas.at(x, 0), {want, want, want}, std::to_string(x));
  }
}

TEST(FigureRaster, OutlinesRunBetweenDifferentCellsOnly)
{
  const std::vector<std::uint16_t> labels = {0, 0, 1, 0, 0, 1, 0, 0, 1};
  Coverage outline(30, 30);
  add_outlines(outline, {0, 0, 30, 30}, 3, 3, labels, 2.0);
  EXPECT_FLOAT_EQ(outline.at(19, 15), 1.0F);
  EXPECT_FLOAT_EQ(outline.at(20, 15), 1.0F);
  EXPECT_FLOAT_EQ(outline.at(10, 15), 0.0F);
  EXPECT_FLOAT_EQ(outline.at(25, 15), 0.0F);
}

}  // namespace
}  // namespace torsowave::postproc
