#include "postproc/figure.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_sample.hpp"
#include "postproc/moment_picture.hpp"
#include "postproc/read_picture.hpp"

namespace torsowave::postproc {
namespace {

struct Cell {
  std::size_t i, j;
};

// ---------------------------------------------------------------- figures

TEST_F(Figures, TissueMapShowsEachTissueInItsColour)
{
  draw_tissue_map(result(), path("tissue.png"));
  const Picture picture = read_png(path("tissue.png"));
  EXPECT_NEAR(picture.width, 1400, 40);
  expect_titled(picture);
  const SliceLayout layout = slice_layout(result().grid, {.right = 440});
  EXPECT_EQ(picture.width, layout.page.width);
  expect_color(picture.at(layout.at(-0.2, 0.15)), tissue_color(0), "air");
  expect_color(picture.at(layout.at(-0.078, 0.012)), tissue_color(5), "liver");
  expect_color(picture.at(layout.at(0.112, -0.012)), tissue_color(8), "spleen");
  expect_color(picture.at(layout.at(0.0, -0.084)), tissue_color(13), "spinal cord");
  expect_color(picture.at(layout.at(-0.042, 0.052)), tissue_color(17), "gall bladder");
}

TEST_F(Figures, TissueLegendListsWhatIsInTheSlice)
{
  draw_tissue_map(result(), path("tissue.png"));
  const Picture picture = read_png(path("tissue.png"));
  const SliceLayout layout = slice_layout(result().grid, {.right = 440});
  for (std::size_t tissue = 0; tissue < organ_titles.size(); ++tissue) {
    bool found = false;
    for (int y = static_cast<int>(layout.map.top); y < picture.height && !found; ++y) {
      found = picture.at(static_cast<int>(layout.map.right()) + 36, y) ==
              tissue_color(tissue);
    }
    EXPECT_TRUE(found) << organ_titles[tissue];
  }
}

TEST_F(Figures, PhasorColoursAreDecibelsBelowTheTop)
{
  draw_phasor(result(), "Ez", 2, Scale::decibel, path("phasor.png"));
  const Picture picture = read_png(path("phasor.png"));
  const SliceLayout layout = slice_layout(result().grid, {});
  expect_size(picture, layout);
  expect_titled(picture);
  const std::size_t cells = result().labels.size();
  std::vector<double> levels;
  for (std::size_t c = 0; c < cells; ++c) {
    levels.push_back(20.0 * std::log10(static_cast<double>(
                                std::abs(result().phasors[0].values[2 * cells + c]))));
  }
  std::vector<double> sorted = levels;
  std::sort(sorted.begin(), sorted.end());
  const double top =
      5.0 *
      std::ceil(sorted[static_cast<std::size_t>(0.999 * static_cast<double>(cells - 1))] /
                5.0);
  for (const auto& [i, j] : {Cell{20, 20}, Cell{150, 180}, Cell{300, 100}}) {
    expect_color(picture.at(layout.at(result().grid.x[i], result().grid.y[j])),
                 sequential_color((levels[j * 460 + i] - top + 80.0) / 80.0),
                 std::to_string(i));
  }
}

TEST_F(Figures, PhasorOfSymmetricDataIsItsOwnMirrorImage)
{
  const Result symmetric = make_symmetric_result();
  draw_phasor(symmetric, "Ez", 0, Scale::decibel, path("symmetric.png"));
  const Picture picture = read_png(path("symmetric.png"));
  const Box map = slice_layout(symmetric.grid, {}).map;
  ASSERT_EQ(map.width, 3 * symmetric.grid.nx);
  int different = 0;
  for (int y = static_cast<int>(map.top); y < map.bottom(); ++y) {
    for (int x = 0; x < static_cast<int>(map.width); ++x) {
      const int mirrored = static_cast<int>(map.right()) - 1 - x;
      different +=
          picture.at(static_cast<int>(map.left) + x, y) == picture.at(mirrored, y) ? 0
                                                                                   : 1;
    }
  }
  EXPECT_EQ(different, 0);
}

TEST_F(Figures, FrontIsUp)
{
  Result result = make_symmetric_result();
  for (std::size_t c = 0; c < cell_count(result.grid); ++c) {
    result.phasors[0].values[c] = c / 364 < 135 ? 1.0F : 100.0F;  // low y first
  }
  draw_phasor(result, "Ez", 0, Scale::linear, path("front.png"));
  const Picture picture = read_png(path("front.png"));
  const Box map = slice_layout(result.grid, {}).map;
  expect_color(picture.at({map.left + 20, map.top + 20}), sequential_color(1.0), "front");
  expect_color(picture.at({map.left + 20, map.bottom() - 20}), sequential_color(0.01),
               "back");
}

TEST_F(Figures, SnapshotShowsSignAndStride)
{
  Snapshot snapshot{3.2e-9, {}};
  const SnapshotPlan plan{"Ez", "V/m", "", 3};
  const GridInfo& grid = result().grid;
  for (int j = 0; j < grid.ny; j += 3) {
    for (int i = 0; i < grid.nx; i += 3) {
      const double r = std::hypot(grid.x[static_cast<std::size_t>(i)] - 8e-3,
                                  grid.y[static_cast<std::size_t>(j)] + 26e-3);
      snapshot.values.push_back(static_cast<float>(wave(r, 0.915e9).real()));
    }
  }
  draw_snapshot(result(), snapshot, plan, path("snapshot.png"));
  const Picture picture = read_png(path("snapshot.png"));
  const SliceLayout layout = slice_layout(grid, {});
  expect_size(picture, layout);
  expect_titled(picture);
  const double range = symmetric_range(snapshot.values);
  const std::size_t kept_columns = 154;  // ceil(460 / 3)
  for (const auto& [i, j] : {Cell{33, 30}, Cell{150, 120}, Cell{399, 300}}) {
    const float value = snapshot.values[j / 3 * kept_columns + i / 3];
    expect_color(picture.at(layout.at(grid.x[i], grid.y[j])),
                 diverging_color(static_cast<double>(value) / range), std::to_string(i));
  }
}

TEST_F(Figures, FramesOfOneResultAreAlike)
{
  const SnapshotPlan plan{"Ez", "V/m", "", 1};
  const MomentPictures pictures(result(), plan, {3.0}, {});
  std::vector<float> values(result().labels.size(), 0.0F);
  const Canvas first = pictures.draw(values, moment_title("Ez", 0.0));
  values[20 * 460 + 20] = 3.0F;
  const Canvas second = pictures.draw(values, moment_title("Ez", 123.456e-9));
  ASSERT_EQ(first.width(), second.width());
  ASSERT_EQ(first.height(), second.height());
  // Nothing but the title and the cell differs.
  const SliceLayout layout = slice_layout(result().grid, {});
  const Point cell = layout.at(result().grid.x[20], result().grid.y[20]);
  for (int y = 62; y < first.height(); ++y) {
    for (int x = 0; x < first.width(); ++x) {
      if (std::hypot(x - cell.x, y - cell.y) > 4.0 &&
          !(first.at(x, y) == second.at(x, y))) {
        FAIL() << x << ' ' << y;
      }
    }
  }
  EXPECT_TRUE(second.at(static_cast<int>(cell.x), static_cast<int>(cell.y)) ==
              diverging_color(1.0));
  EXPECT_THROW(MomentPictures(result(), plan, {0.0}, {}), std::invalid_argument);
}

TEST_F(Figures, LevelsOfBothSignsGoFromTheMiddleOutwards)
{
  const SnapshotPlan plan{"Ez", "V/m", "", 1};
  const MomentPictures pictures(result(), plan, {10.0, true}, {});
  std::vector<float> values(result().labels.size(), 0.0F);
  const std::vector<std::pair<float, double>> places{
      {10.0F, 1.0}, {-1.0F, -2.0 / 3.0}, {0.1F, 1.0 / 3.0}, {1e-3F, 0.0}};
  for (std::size_t n = 0; n < places.size(); ++n) {
    for (std::size_t j = 20; j < 25; ++j) {
      std::fill_n(values.begin() + static_cast<std::ptrdiff_t>(j * 460 + 20 * (n + 1)), 5,
                  places[n].first);
    }
  }
  const Canvas canvas = pictures.draw(values, "levels");
  const SliceLayout layout = slice_layout(result().grid, {});
  for (std::size_t n = 0; n < places.size(); ++n) {
    const Point at = layout.at(result().grid.x[20 * (n + 1) + 2], result().grid.y[22]);
    expect_color(canvas.at(static_cast<int>(at.x), static_cast<int>(at.y)),
                 diverging_color(places[n].second), std::to_string(n));
  }
}

TEST_F(Figures, SurfacePowerCarriesCurvesAndCaution)
{
  draw_surface_power(result(), path("surface.png"));
  const Picture picture = read_png(path("surface.png"));
  EXPECT_EQ(picture.width, 1400);
  expect_titled(picture);
  EXPECT_GT(dark_share(picture, {116, picture.height - 44.0, 900, 30}), 0.02);
  int violet = 0;  // the first curve's colour, inside the plot
  for (int y = 106; y < 660; ++y) {
    for (int x = 118; x < 1150; ++x) {
      violet += picture.at(x, y) == sequential_color(0.0) ? 1 : 0;
    }
  }
  EXPECT_GT(violet, 500);
}

TEST_F(Figures, SarCarriesTheCautionAndLeavesAirPale)
{
  draw_sar(result(), 1, path("sar.png"));
  const Picture picture = read_png(path("sar.png"));
  const SliceLayout layout = slice_layout(result().grid, {.notes = 1});
  expect_size(picture, layout);
  expect_titled(picture);
  expect_color(picture.at(layout.at(-0.2, 0.15)), tissue_color(0), "air");
  EXPECT_GT(dark_share(picture, {116, picture.height - 44.0, 900, 30}), 0.02);
}

TEST_F(Figures, SmallFineAndTallSlicesAreDrawn)
{
  for (const auto& [nx, ny] :
       {std::pair{23, 17}, std::pair{3000, 700}, std::pair{120, 500}}) {
    Result other = make_symmetric_result();
    other.grid = make_grid(nx, ny, 0.4 / std::max(nx, ny));
    other.labels.clear();
    other.frequencies.clear();
    other.phasors.clear();
    other.sar.clear();
    paint(other, {{1, 0, 0, 60, 40}, {2, 0, -10, 9, 9}});
    add_fields(other);
    const std::string name = "size-" + std::to_string(nx);
    draw_tissue_map(other, path((name + "-tissue.png").c_str()));
    draw_phasor(other, "Ez", 0, Scale::decibel, path((name + "-phasor.png").c_str()));
    const Picture picture = read_png(path((name + "-phasor.png").c_str()));
    EXPECT_LE(picture.width, 1400);
    EXPECT_LE(picture.height, 1300);
  }
}

// ---------------------------------------------------------------- failures

/// Sets an environment variable for as long as it lives.
class WithFont {
public:
  explicit WithFont(const std::string& value)
  {
    ::setenv("TORSOWAVE_FONT", value.c_str(), 1);
  }
  ~WithFont() { ::unsetenv("TORSOWAVE_FONT"); }
  WithFont(const WithFont&) = delete;
  WithFont& operator=(const WithFont&) = delete;
};

TEST_F(Figures, SayWhichFontIsMissing)
{
  const std::filesystem::path missing = path("no-such-font.ttf");
  const WithFont font(missing.string());
  try {
    draw_tissue_map(result(), path("tissue.png"));
    FAIL() << "no FontError";
  } catch (const FontError& error) {
    EXPECT_NE(std::string(error.what()).find(missing.string()), std::string::npos);
    EXPECT_NE(std::string(error.what()).find("fonts-dejavu-core"), std::string::npos);
  }
}

TEST_F(Figures, RefuseAFontFileThatIsNone)
{
  const std::filesystem::path other = path("not-a-font.ttf");
  std::ofstream(other) << std::string(5000, 'x');
  EXPECT_THROW(Font{other}, FontError);
  std::filesystem::remove(other);
}

TEST_F(Figures, NameTheFileThatCannotBeWritten)
{
  const std::filesystem::path target = path("missing-folder") / "map.png";
  try {
    draw_tissue_map(result(), target);
    FAIL() << "no WriteError";
  } catch (const WriteError& error) {
    EXPECT_NE(std::string(error.what()).find(target.string()), std::string::npos);
  }
}

TEST_F(Figures, NameWhatTheResultLacks)
{
  const auto message = [](auto draw) {
    try {
      draw();
    } catch (const std::invalid_argument& error) {
      return std::string(error.what());
    }
    return std::string("nothing thrown");
  };
  const std::string field =
      message([&] { draw_phasor(result(), "Hx", 0, Scale::decibel, path("x.png")); });
  EXPECT_EQ(field, "no phasor field Hx in the result, which has Ez");
  const std::string frequency = message([&] { draw_sar(result(), 3, path("x.png")); });
  EXPECT_NE(frequency.find("403.5 MHz, 915 MHz, 2.45 GHz"), std::string::npos)
      << frequency;
  Result broken = make_symmetric_result();
  broken.labels.pop_back();
  EXPECT_NE(message([&] { draw_tissue_map(broken, path("x.png")); }).find("98279"),
            std::string::npos);
  broken = make_symmetric_result();
  broken.labels[7] = 9;
  EXPECT_EQ(message([&] { draw_tissue_map(broken, path("x.png")); }),
            "tissue label 9 where there are 3 tissues");
  EXPECT_NE(
      message([&] { draw_surface_power(broken, path("x.png")); }).find("body-surface"),
      std::string::npos);
  EXPECT_FALSE(std::filesystem::exists(path("x.png")));
}

}  // namespace
}  // namespace torsowave::postproc
