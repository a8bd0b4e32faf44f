// Phases, power flow, the ring of sectors, lines through a slice, and looks.

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <fstream>
#include <numbers>
#include <string>

#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/line_figure.hpp"
#include "postproc/polar_figure.hpp"
#include "postproc/power_balance.hpp"
#include "postproc/read_picture.hpp"
#include "postproc/row_of_slice.hpp"

namespace torsowave::postproc {
namespace {

TEST_F(Figures, PhaseGoesAroundTheColours)
{
  Result result = make_symmetric_result();
  const std::vector<std::complex<float>> turns{{1, 0}, {0, 2}, {-3, 0}, {0, -1}};
  for (std::size_t c = 0; c < cell_count(result.grid); ++c) {
    result.phasors[0].values[c] = turns[c % 364 / 91];
  }
  draw_phasor(result, "Ez", 0, Scale::phase, path("phase.png"));
  const Picture picture = read_png(path("phase.png"));
  const Box map = slice_layout(result.grid, {}).map;
  for (std::size_t n = 0; n < 4; ++n) {
    const double x = map.left + map.width * (static_cast<double>(n) + 0.5) / 4.0;
    expect_color(picture.at({x, map.top + 20.0}),
                 cyclic_color(0.25 * static_cast<double>(n)), std::to_string(n));
  }
}

TEST_F(Figures, RingShowsEachSectorOutsideTheBody)
{
  Result result = make_symmetric_result();
  result.sector_angle_deg = sector_centres_deg(4);
  result.frequencies[0].sector_power = {1.0, 1e-2, 1e-4, -1.0};
  draw_surface_ring(result, 0, path("ring.png"));
  const Picture picture = read_png(path("ring.png"));
  const SliceLayout layout = slice_layout(result.grid, {.notes = 2});
  expect_size(picture, layout);
  // Some 7 mm outside an ellipse of 170 x 112 mm: within the ring, which is 8 to 34
  // pixels (of 1/3 mm) away; 40 degrees to either side of each sector's centre.
  const std::vector<Color> wanted{sequential_color(1.0), sequential_color(0.5),
                                  sequential_color(0.0), Color{128, 132, 140}};
  for (std::size_t n = 0; n < 8; ++n) {
    const double turn = std::numbers::pi / 180.0 *
                        (result.sector_angle_deg[n / 2] + (n % 2 == 0 ? -40.0 : 40.0));
    const double r =
        1.0 / std::hypot(std::cos(turn) / 0.170, std::sin(turn) / 0.112) + 8e-3;
    expect_color(picture.at(layout.at(r * std::cos(turn), r * std::sin(turn))),
                 wanted[n / 2], std::to_string(n));
  }
  expect_color(picture.at(layout.at(0.175, 0.13)), picture.at(layout.at(-0.175, -0.13)),
               "outside the ring");
}

/// A plane wave along +y in free space: Hx = Ez/eta0 for exp(-j k y), as curl E = -j w
/// mu0 H has it, and 1/(2 eta0) W/m^2 along +y (e.g. Balanis, Advanced Engineering
/// Electromagnetics, 2nd ed., 2012, 4.2, from memory).
TEST_F(Figures, PowerFlowsWhereTheWaveGoes)
{
  Result result = make_symmetric_result();
  PhasorField hx{"Hx", "A/m", "", {}};
  PhasorField hy{
      "Hy", "A/m", "",
      std::vector<std::complex<float>>(result.phasors[0].values.size(), 1e-30F)};
  for (std::size_t c = 0; c < result.phasors[0].values.size(); ++c) {
    const double y = result.grid.y[c % cell_count(result.grid) / 364];
    const std::complex<double> wave = std::polar(1.0, -8.45 * y);
    result.phasors[0].values[c] = std::complex<float>(wave);
    hx.values.emplace_back(wave / 376.73);
  }
  result.phasors.insert(result.phasors.end(), {hx, hy});
  draw_power_flow(result, 0, path("flow.png"));
  const Picture picture = read_png(path("flow.png"));
  const SliceLayout layout = slice_layout(result.grid, {.notes = 1});
  expect_size(picture, layout);
  // 10 log10(1/(2 x 376.73)) = -28.77 dB: the bar ends at -25 dB, 60 dB long.
  expect_color(picture.at(layout.at(0.0005, 0.1331)), sequential_color(1.0 - 3.77 / 60.0),
               "level");
  // The arrow in the upper left corner points up: its barbs are near its upper end.
  const Point middle{layout.map.left + 20.0, layout.map.top + 20.0};
  const auto light = [&](double dx, double dy) {
    return picture.at({middle.x + dx, middle.y + dy}) == Color{255, 255, 255};
  };
  EXPECT_TRUE(light(0.0, -8.0) && light(0.0, 10.0) && light(-3.2, -9.8) &&
              light(3.2, -9.8));
  EXPECT_FALSE(light(-3.2, 9.8) || light(3.2, 9.8));
  result.phasors.pop_back();
  try {
    draw_power_flow(result, 0, path("x.png"));
    FAIL() << "drawn without Hy";
  } catch (const std::invalid_argument& error) {
    EXPECT_NE(std::string(error.what()).find("Hy is not stored"), std::string::npos);
  }
}

TEST_F(Figures, LooksChangePageAndSizeAlone)
{
  const Look print{dark_theme, 2126, false, 300.0};
  draw_phasor(result(), "Ez", 2, Scale::decibel, path("print.png"), print);
  draw_phasor(result(), "Ez", 2, Scale::decibel, path("plain.png"));
  const Picture large = read_png(path("print.png"));
  const Picture plain = read_png(path("plain.png"));
  EXPECT_EQ(large.width, 2126);
  expect_color(large.at(2, 2), dark_theme.paper, "page");
  const SliceLayout layout = slice_layout(result().grid, {});
  const double factor = 2126.0 / layout.page.width;
  for (const auto& [x, y] : {std::pair{-0.2, 0.12}, std::pair{0.1, 0.06}}) {
    const Point at = layout.at(x, y);
    expect_color(large.at({factor * at.x, factor * at.y}), plain.at(at), "map");
  }
  std::ifstream file(path("print.png"), std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(file)), {});
  // ISO/IEC 15948: 300 / 0.0254 = 11811 pixels per metre.
  EXPECT_NE(bytes.find(std::string("pHYs\0\0\x2e\x23\0\0\x2e\x23\x01", 13)),
            std::string::npos);
  draw_phasor(result(), "Ez", 2, Scale::decibel, path("thumb.png"), {{}, 320, true, 0.0});
  const Picture thumb = read_png(path("thumb.png"));
  EXPECT_EQ(thumb.width, 320);
  EXPECT_NEAR(thumb.height, 320.0 * 340.0 / 460.0, 2.0);
}

TEST_F(Figures, ALineThroughTheSliceIsARowOfLayers)
{
  const SliceLine line = line_through(result(), SliceAxis::y, std::nullopt);
  const Result row = row_of(result(), line);
  EXPECT_EQ(row.grid.x, result().grid.y);
  const auto column = static_cast<std::size_t>(line.index);
  EXPECT_NEAR(result().grid.x[column], 8e-3, 0.51e-3);
  for (const std::size_t j : {std::size_t{0}, std::size_t{100}, std::size_t{339}}) {
    EXPECT_EQ(row.labels[j], result().labels[j * 460 + column]);
    EXPECT_EQ(row.phasors[0].values[340 + j],
              result().phasors[0].values[(340 + j) * 460 + column]);
  }
  // Air, skin, fat, muscle from the back: half-heights of 112, 109, 95 mm.
  ASSERT_GT(row.layers.size(), 6U);
  EXPECT_EQ(row.layers[1].tissue, "tissue_1");
  EXPECT_NEAR(row.layers[1].from, -0.112, 1.01e-3);
  EXPECT_NEAR(row.layers[2].from, -0.109, 1.01e-3);
  draw_row_phasors(row, "Ez", Scale::decibel, path("line.svg"), name_of(result(), line));
  std::ifstream file(path("line.svg"));
  const std::string svg((std::istreambuf_iterator<char>(file)), {});
  EXPECT_TRUE(svg.starts_with("<svg "));
  EXPECT_NE(svg.find("y [mm]"), std::string::npos);
  EXPECT_NE(svg.find("along y at x = 7.5 mm"), std::string::npos);
  EXPECT_THROW(static_cast<void>(line_through(result(), SliceAxis::x, 0.2)),
               std::invalid_argument);
}

TEST(PolarFigure, PutsLevelsAtTheirDirections)
{
  PolarFigure figure;
  figure.title = "a < b & c";
  figure.series.push_back({"one", {}, {}});
  for (int degree = 0; degree < 360; ++degree) {
    figure.series[0].angle_deg.push_back(degree);
    // 0 dB, the outer circle, but -20 dB around the front and a gap around the back.
    figure.series[0].level.push_back(std::abs(degree - 90) < 20    ? -20.0
                                     : std::abs(degree - 270) < 20 ? std::nan("")
                                                                   : 0.0);
  }
  const VectorFigure picture = polar_picture(figure);
  const Canvas canvas = as_pixels(picture, {});
  // The scale goes from 10 dB below the lowest decade, -30 dB, to 0: 380 about (560,
  // 560).
  const auto at = [&](double degree, double radius) {
    const double angle = degree * std::numbers::pi / 180.0;
    return canvas.at(static_cast<int>(560.0 + radius * std::cos(angle)),
                     static_cast<int>(560.0 - radius * std::sin(angle)));
  };
  expect_color(at(45.0, 380.0), line_color(0), "outer circle");
  expect_color(at(80.0, 380.0 / 3.0), line_color(0), "-20 dB of 30");
  EXPECT_FALSE(at(280.0, 380.0) == line_color(0));
  const std::string svg = as_svg(picture, {dark_theme, 700, false, 0.0});
  EXPECT_NE(svg.find("<title>a &lt; b &amp; c</title>"), std::string::npos);
  EXPECT_NE(svg.find("width=\"700\""), std::string::npos);
  EXPECT_NE(svg.find("fill=\"#181a1f\""), std::string::npos);  // the dark page
  figure.series[0].level.assign(360, std::nan(""));
  EXPECT_THROW(static_cast<void>(polar_picture(figure)), std::invalid_argument);
}

TEST(ColorMap, PhasesDifferInHueAlone)
{
  for (double t = 0.0; t < 1.0; t += 0.01) {
    const OkLab color = to_oklab(cyclic_color(t));
    EXPECT_NEAR(color.lightness, 0.70, 0.01) << t;
    EXPECT_NEAR(std::hypot(color.a, color.b), 0.12, 0.012) << t;
  }
  EXPECT_TRUE(cyclic_color(0.25) == cyclic_color(-0.75));
}

TEST(ColorMap, OnDarkPagesTheMiddleIsDark)
{
  for (double t = 0.0; t <= 1.0; t += 0.05) {
    const double lightness = to_oklab(diverging_color(t, true)).lightness;
    EXPECT_NEAR(lightness, to_oklab(diverging_color(-t, true)).lightness, 0.02) << t;
    EXPECT_NEAR(lightness, 0.20 + 0.58 * t, 0.02) << t;
  }
}

}  // namespace
}  // namespace torsowave::postproc
