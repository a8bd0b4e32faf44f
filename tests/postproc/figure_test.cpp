#include "postproc/figure.hpp"

#include <gtest/gtest.h>
#include <stb/stb_image.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <string>
#include <vector>

#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_scale.hpp"

namespace torsowave::postproc {
namespace {

// ---------------------------------------------------------------- a result, invented

struct Blob {
  std::uint16_t tissue;
  double x, y, half_width, half_height;  // [mm]
};

/// An invented abdomen: nested ellipses and organs, later over earlier.
const std::vector<Blob> organs = {
    {1, 0, 0, 170, 112},   {2, 0, 0, 167, 109},     {3, 0, 0, 153, 95},
    {4, 0, 6, 138, 80},    {5, -78, 12, 54, 56},    {6, 62, 34, 46, 26},
    {7, 62, 34, 40, 20},   {8, 112, -12, 16, 38},   {9, -62, -52, 22, 24},
    {9, 62, -52, 22, 24},  {10, -62, -52, 12, 13},  {10, 62, -52, 12, 13},
    {11, 0, -58, 21, 19},  {12, 0, -58, 15, 13},    {13, 0, -84, 8, 8},
    {14, 8, -26, 11, 11},  {15, 8, -26, 9, 9},      {16, -16, -28, 9, 6},
    {17, -42, 52, 13, 15}, {18, 10, 8, 38, 9},      {19, -10, 50, 17, 13},
    {20, 20, 58, 15, 10},  {21, -100, -36, 15, 15}, {22, -40, -70, 14, 7},
    {23, 40, -70, 14, 7}};

const std::vector<std::string> titles = {"Air",
                                         "Skin (dry)",
                                         "Fat",
                                         "Muscle",
                                         "Visceral fat",
                                         "Liver",
                                         "Stomach wall",
                                         "Stomach contents",
                                         "Spleen",
                                         "Kidney cortex",
                                         "Kidney medulla",
                                         "Cortical bone",
                                         "Cancellous bone",
                                         "Spinal cord",
                                         "Aorta wall",
                                         "Blood",
                                         "Vena cava",
                                         "Gall bladder",
                                         "Pancreas",
                                         "Small intestine",
                                         "Duodenum",
                                         "Colon, ascending",
                                         "Psoas, right side of the patient",
                                         "Psoas, left"};

[[nodiscard]] GridInfo make_grid(int nx, int ny, double cell)
{
  GridInfo grid;
  grid.nx = nx;
  grid.ny = ny;
  grid.cell = cell;
  grid.time_step = cell / 4.3e8;
  for (int i = 0; i < nx; ++i) {
    grid.x.push_back((i + 0.5 - 0.5 * nx) * cell);
  }
  for (int j = 0; j < ny; ++j) {
    grid.y.push_back((j + 0.5 - 0.5 * ny) * cell);
  }
  return grid;
}

void paint(Result& result, const std::vector<Blob>& blobs)
{
  for (int j = 0; j < result.grid.ny; ++j) {
    for (int i = 0; i < result.grid.nx; ++i) {
      const double x = result.grid.x[static_cast<std::size_t>(i)] * 1e3;
      const double y = result.grid.y[static_cast<std::size_t>(j)] * 1e3;
      std::uint16_t label = 0;
      for (const Blob& blob : blobs) {
        if (std::hypot((x - blob.x) / blob.half_width, (y - blob.y) / blob.half_height) <=
            1) {
          label = blob.tissue;
        }
      }
      result.labels.push_back(label);
    }
  }
}

/// Far-zone cylindrical wave of a line current of 1 A in a lossy medium,
/// |E| = (omega mu0 / 4) sqrt(2 / (pi |k| r)) exp(-alpha r): the large-argument form of
/// the Hankel function, DLMF 10.17.6.
[[nodiscard]] std::complex<double> wave(double r, double frequency)
{
  const double omega = 2.0 * std::numbers::pi * frequency;
  const double beta = omega * 7.3 / 299792458.0;
  const double alpha = 42.0 * frequency / 2.45e9;
  const double distance = std::max(r, 0.5e-3);
  const double size = omega * 4e-7 * std::numbers::pi / 4.0 *
                      std::sqrt(2.0 / (std::numbers::pi * beta * distance));
  return std::polar(size * std::exp(-alpha * distance), -beta * distance);
}

void add_fields(Result& result)
{
  PhasorField field{"Ez", "V/m", "electric field along z", {}};
  const std::vector<double> frequencies = {0.4035e9, 0.915e9, 2.45e9};
  for (const double frequency : frequencies) {
    FrequencyResult each;
    each.frequency = frequency;
    result.frequencies.push_back(each);
    for (std::size_t c = 0; c < result.labels.size(); ++c) {
      const auto nx = static_cast<std::size_t>(result.grid.nx);
      const double r = std::hypot(result.grid.x[c % nx] - result.implant_x,
                                  result.grid.y[c / nx] - result.implant_y);
      const std::complex<double> value = wave(r, frequency);
      field.values.emplace_back(value);
      result.sar.push_back(
          result.labels[c] == 0 ? 0.0F : static_cast<float>(std::norm(value) * 1e-7));
    }
  }
  result.phasors.push_back(std::move(field));
}

void add_sectors(Result& result)
{
  for (int s = 0; s < 72; ++s) {
    const double angle = 2.5 + 5.0 * s;
    result.sector_angle_deg.push_back(angle);
    for (FrequencyResult& each : result.frequencies) {
      const double ghz = each.frequency * 1e-9;
      const double cosine = std::cos((angle - 250.0) * std::numbers::pi / 180.0);
      const double ripple = std::cos(angle * ghz * 0.15);
      const double power = std::exp(ghz * (4.0 * cosine + 0.8 * ripple) - 3.0 * ghz);
      each.sector_power.push_back(ghz > 2.0 && s >= 15 && s < 19 ? -1e-6 : 1e-2 * power);
    }
  }
}

[[nodiscard]] Result make_result()
{
  Result result;
  result.title = "Invented abdomen with a graft sensor";
  result.mode = "TMz";
  result.grid = make_grid(460, 340, 1e-3);
  result.tissue_titles = titles;
  for (std::size_t t = 0; t < titles.size(); ++t) {
    result.tissues.push_back("tissue_" + std::to_string(t));
  }
  result.implant_x = 8e-3;
  result.implant_y = -26e-3;
  paint(result, organs);
  for (std::size_t t = 0; t < titles.size(); ++t) {
    const auto cells = std::count(result.labels.begin(), result.labels.end(), t);
    result.materials.push_back(
        {result.tissues[t], 0.005, 3, 1e-6 * static_cast<double>(cells)});
  }
  add_fields(result);
  add_sectors(result);
  return result;
}

/// The same left and right of x = 0, and of a size that is drawn at 3 pixels a cell.
[[nodiscard]] Result make_symmetric_result()
{
  Result result;
  result.title = "Symmetric";
  result.mode = "TMz";
  result.grid = make_grid(364, 270, 1e-3);
  result.tissues = {"air", "muscle", "bone"};
  result.tissue_titles = {"Air", "Muscle", "Bone"};
  result.implant_y = 20e-3;
  paint(result, {{1, 0, 0, 170, 112}, {2, -62, -52, 22, 24}, {2, 62, -52, 22, 24}});
  add_fields(result);
  return result;
}

// ---------------------------------------------------------------- pictures, read back

struct Picture {
  int width = 0;
  int height = 0;
  std::vector<std::uint8_t> pixels;

  [[nodiscard]] Color at(int x, int y) const
  {
    const auto first =
        3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
             static_cast<std::size_t>(x));
    return {pixels.at(first), pixels.at(first + 1), pixels.at(first + 2)};
  }
  [[nodiscard]] Color at(Point p) const
  {
    return at(static_cast<int>(p.x), static_cast<int>(p.y));
  }
};

[[nodiscard]] Picture read_png(const std::filesystem::path& path)
{
  Picture picture;
  int channels = 0;
  std::uint8_t* data =
      stbi_load(path.c_str(), &picture.width, &picture.height, &channels, 0);
  EXPECT_NE(data, nullptr) << path;
  if (data != nullptr) {
    EXPECT_EQ(channels, 3);
    picture.pixels.assign(data, data + 3 * picture.width * picture.height);
    stbi_image_free(data);
  }
  return picture;
}

/// Share of the pixels in a box that are dark.
[[nodiscard]] double dark_share(const Picture& picture, const Box& box)
{
  int dark = 0;
  for (int y = static_cast<int>(box.top); y < box.bottom(); ++y) {
    for (int x = static_cast<int>(box.left); x < box.right(); ++x) {
      dark += to_oklab(picture.at(x, y)).lightness < 0.5 ? 1 : 0;
    }
  }
  return dark / (box.width * box.height);
}

[[nodiscard]] double distance(Color a, Color b)
{
  const OkLab p = to_oklab(a);
  const OkLab q = to_oklab(b);
  return std::hypot(p.lightness - q.lightness, p.a - q.a, p.b - q.b);
}

void expect_color(Color seen, Color wanted, const std::string& where)
{
  EXPECT_TRUE(seen == wanted) << where << ": " << int{seen.red} << ' ' << int{seen.green}
                              << ' ' << int{seen.blue} << ", wanted " << int{wanted.red}
                              << ' ' << int{wanted.green} << ' ' << int{wanted.blue};
}

class Figures : public ::testing::Test {
protected:
  void SetUp() override
  {
    // TORSOWAVE_FIGURES keeps the pictures there, for a person to look at.
    const char* wanted = std::getenv("TORSOWAVE_FIGURES");
    keep_ = wanted != nullptr;
    const std::string test =
        ::testing::UnitTest::GetInstance()->current_test_info()->name();
    folder_ = keep_
                  ? std::filesystem::path(wanted)
                  : std::filesystem::temp_directory_path() /
                        ("torsowave-figures-" + test + "-" + std::to_string(::getpid()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override
  {
    if (!keep_) {
      std::filesystem::remove_all(folder_);
    }
  }

  [[nodiscard]] static const Result& result()
  {
    static const Result made = make_result();
    return made;
  }
  [[nodiscard]] std::filesystem::path path(const char* name) const
  {
    return folder_ / name;
  }

  std::filesystem::path folder_;
  bool keep_ = false;
};

const Box title_box{116, 20, 900, 34};
const Box subtitle_box{116, 62, 600, 26};

void expect_titled(const Picture& picture)
{
  EXPECT_GT(dark_share(picture, title_box), 0.02);
  EXPECT_LT(dark_share(picture, title_box), 0.5);
  EXPECT_GT(dark_share(picture, subtitle_box), 0.02);
}

void expect_size(const Picture& picture, const SliceLayout& layout)
{
  EXPECT_EQ(picture.width, layout.width);
  EXPECT_EQ(picture.height, layout.height);
  EXPECT_EQ(picture.width % 2, 0);
  EXPECT_EQ(picture.height % 2, 0);
}

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

// ---------------------------------------------------------------- figures

TEST_F(Figures, TissueMapShowsEachTissueInItsColour)
{
  draw_tissue_map(result(), path("tissue.png"));
  const Picture picture = read_png(path("tissue.png"));
  EXPECT_NEAR(picture.width, 1400, 40);
  expect_titled(picture);
  const SliceLayout layout = slice_layout(result().grid, {.right = 440});
  EXPECT_EQ(picture.width, layout.width);
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
  for (std::size_t tissue = 0; tissue < titles.size(); ++tissue) {
    bool found = false;
    for (int y = static_cast<int>(layout.map.top); y < picture.height && !found; ++y) {
      found = picture.at(static_cast<int>(layout.map.right()) + 36, y) ==
              tissue_color(tissue);
    }
    EXPECT_TRUE(found) << titles[tissue];
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
  for (const auto& [i, j] :
       {std::pair{20, 20}, std::pair{150, 180}, std::pair{300, 100}}) {
    const auto c = static_cast<std::size_t>(j * 460 + i);
    expect_color(picture.at(layout.at(result().grid.x[static_cast<std::size_t>(i)],
                                      result().grid.y[static_cast<std::size_t>(j)])),
                 sequential_color((levels[c] - top + 80.0) / 80.0), std::to_string(i));
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
  const int kept_columns = 154;  // ceil(460 / 3)
  for (const auto& [i, j] :
       {std::pair{33, 30}, std::pair{150, 120}, std::pair{400, 300}}) {
    const float value =
        snapshot.values[static_cast<std::size_t>(j / 3 * kept_columns + i / 3)];
    expect_color(picture.at(layout.at(grid.x[static_cast<std::size_t>(i)],
                                      grid.y[static_cast<std::size_t>(j)])),
                 diverging_color(static_cast<double>(value) / range), std::to_string(i));
  }
}

TEST_F(Figures, FramesOfOneResultAreAlike)
{
  const SnapshotPlan plan{"Ez", "V/m", "", 1};
  Snapshot early{0.0, std::vector<float>(result().labels.size(), 0.0F)};
  const Canvas first = render_snapshot(result(), early, plan, 3.0);
  early.time = 123.456e-9;
  const Canvas second = render_snapshot(result(), early, plan, 3.0);
  EXPECT_EQ(first.width(), second.width());
  EXPECT_EQ(first.height(), second.height());
  EXPECT_THROW(static_cast<void>(render_snapshot(result(), early, plan, 0.0)),
               std::invalid_argument);
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
