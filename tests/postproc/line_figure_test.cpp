#include "postproc/line_figure.hpp"
#include "postproc/polar_figure.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/line_axis.hpp"

namespace torsowave::postproc {
namespace {

constexpr double gap = std::numeric_limits<double>::quiet_NaN();
// Where the plot lies on the figure [px].
constexpr double left = 116.0;
constexpr double right = 1076.0;
constexpr double top = 104.0;
constexpr double bottom = 664.0;

/// A straight line from the lower left to the upper right corner of the plot.
LineFigure diagonal()
{
  LineFigure figure;
  figure.title = "Invented curve";
  figure.x = {.label = "x [m]", .range = {{0.0, 2.0}}, .widest_span = {}};
  figure.y = {.label = "y [m]", .range = {{0.0, 4.0}}, .widest_span = {}};
  figure.series.push_back(
      {.name = "line", .x = {0.0, 2.0}, .y = {0.0, 4.0}, .color = {}});
  return figure;
}

/// The pixel at a share of the plot, from the lower left.
Color at(const Canvas& canvas, double x_share, double y_share)
{
  return canvas.at(static_cast<int>(left + x_share * (right - left)),
                   static_cast<int>(bottom - y_share * (bottom - top)));
}

/// Share of the plot's pixels in exactly this colour.
double share_of(const Canvas& canvas, Color color)
{
  double count = 0.0;
  for (int y = static_cast<int>(top); y < static_cast<int>(bottom); ++y) {
    for (int x = static_cast<int>(left); x < static_cast<int>(right); ++x) {
      count += canvas.at(x, y) == color ? 1.0 : 0.0;
    }
  }
  return count / ((right - left) * (bottom - top));
}

TEST(LineFigure, CurvesGoWhereTheAxesSay)
{
  const Canvas canvas = draw_lines(diagonal());
  EXPECT_EQ(canvas.width(), 1400);
  EXPECT_EQ(canvas.height() % 2, 0);
  for (const double share : {0.13, 0.37, 0.77}) {
    EXPECT_EQ(at(canvas, share, share), line_color(0));
    EXPECT_FALSE(at(canvas, share, share + 0.1) == line_color(0));
  }
}

TEST(LineFigure, LogarithmicAxes)
{
  LineFigure figure = diagonal();
  figure.x = {
      .label = "f [Hz]", .range = {{1.0, 1e4}}, .logarithmic = true, .widest_span = {}};
  figure.series[0].x = {1.0, 10.0, 100.0, 1e3, 1e4};
  figure.series[0].y = {0.0, 1.0, 2.0, 3.0, 4.0};
  const Canvas canvas = draw_lines(figure);
  EXPECT_EQ(at(canvas, 0.37, 0.37), line_color(0));
  EXPECT_EQ(at(canvas, 0.62, 0.62), line_color(0));
}

TEST(LineFigure, GapsStayEmptyAndALonelyValueIsADot)
{
  LineFigure figure = diagonal();
  figure.series[0].x = {0.0, 0.4, 1.0, 1.6, 2.0};
  figure.series[0].y = {0.0, gap, 2.0, gap, 4.0};
  const Canvas canvas = draw_lines(figure);
  EXPECT_EQ(at(canvas, 0.5, 0.5), line_color(0));
  EXPECT_FALSE(at(canvas, 0.37, 0.37) == line_color(0));
  EXPECT_FALSE(at(canvas, 0.77, 0.77) == line_color(0));
}

TEST(LineFigure, DashesCoverAboutHalfOfALine)
{
  LineFigure figure = diagonal();
  const double solid = share_of(draw_lines(figure), line_color(0));
  figure.series[0].style = LineStyle::dashed;
  const double dashed = share_of(draw_lines(figure), line_color(0));
  EXPECT_NEAR(dashed / solid, 11.0 / 19.0, 0.12);
  // The pattern goes on over many short segments.
  figure.series[0].x.clear();
  figure.series[0].y.clear();
  for (int i = 0; i <= 1000; ++i) {
    figure.series[0].x.push_back(2e-3 * i);
    figure.series[0].y.push_back(4e-3 * i);
  }
  EXPECT_NEAR(share_of(draw_lines(figure), line_color(0)) / solid, 11.0 / 19.0, 0.12);
}

TEST(LineFigure, FarValuesAreCutOffAndTheSlopeStays)
{
  LineFigure figure = diagonal();
  figure.series[0].x = {-2e6, 2e6 + 2.0};
  figure.series[0].y = {-4e6, 4e6 + 4.0};
  const Canvas canvas = draw_lines(figure);
  EXPECT_EQ(at(canvas, 0.37, 0.37), line_color(0));
  EXPECT_EQ(canvas.at(50, 50), (Color{255, 255, 255}));
}

TEST(LineFigure, BandsMarksAndColours)
{
  LineFigure figure = diagonal();
  figure.series[0].color = Color{200, 0, 0};
  figure.bands.push_back({0.5, 1.0, "layer", {100, 120, 140}});
  figure.marks.push_back({1.5, "mark"});
  const Canvas canvas = draw_lines(figure);
  EXPECT_EQ(at(canvas, 0.37, 0.37), (Color{200, 0, 0}));
  EXPECT_LT(at(canvas, 0.42, 0.23).red, 200);
  EXPECT_EQ(at(canvas, 0.58, 0.23), (Color{255, 255, 255}));
  EXPECT_LT(at(canvas, 0.75, 0.55).red, 200);
}

TEST(LineFigure, AWideSpanIsBoundedAndSaysSo)
{
  LineFigure figure = diagonal();
  figure.y = {.label = "level [dB]", .range = {}, .widest_span = 80.0};
  figure.series[0].x = {0.0, 1.0, 2.0};
  figure.series[0].y = {-300.0, -40.0, 0.0};
  const Canvas with_note = draw_lines(figure);
  figure.series[0].y[0] = -79.0;
  EXPECT_GT(with_note.height(), draw_lines(figure).height());
}

TEST(LineFigure, RefusesWhatCannotBeDrawn)
{
  LineFigure uneven = diagonal();
  uneven.series[0].x.pop_back();
  EXPECT_THROW(static_cast<void>(draw_lines(uneven)), std::invalid_argument);
  LineFigure empty = diagonal();
  empty.y.range.reset();
  empty.series[0].y = {gap, gap};
  EXPECT_THROW(static_cast<void>(draw_lines(empty)), std::invalid_argument);
  LineFigure negative = diagonal();
  negative.x.logarithmic = true;
  EXPECT_THROW(static_cast<void>(draw_lines(negative)), std::invalid_argument);
}

TEST(LineAxis, TicksOfALogarithmicAxis)
{
  const ScaledAxis axis(
      {.label = "f", .range = {{0.1, 100.0}}, .logarithmic = true, .widest_span = {}}, {},
      0.0);
  std::string texts;
  for (const AxisTick& tick : axis.ticks(11)) {
    texts += tick.text.empty() ? "" : tick.text + " ";
  }
  EXPECT_EQ(texts, "0.1 0.2 0.5 1 2 5 10 20 50 100 ");
  EXPECT_NEAR(axis.share(1.0), 1.0 / 3.0, 1e-15);
}

TEST(LineAxis, SmallDecadesStayNarrow)
{
  const ScaledAxis axis(
      {.label = "y", .range = {{1e-5, 1.0}}, .logarithmic = true, .widest_span = {}}, {},
      0.0);
  std::string texts;
  for (const AxisTick& tick : axis.ticks(11)) {
    texts += tick.text.empty() ? "" : tick.text + " ";
  }
  EXPECT_EQ(texts, "1e-05 1e-04 0.001 0.01 0.1 1 ");
}

TEST(LineAxis, AConstantStillHasARange)
{
  const std::vector<double> values{5.0, 5.0};
  const ScaledAxis axis({.label = "y", .range = {}, .widest_span = {}}, values, 0.05);
  EXPECT_NEAR(axis.share(5.0), 0.5, 1e-12);
  const std::vector<double> zeros{0.0};
  EXPECT_NO_THROW(static_cast<void>(
      ScaledAxis({.label = "y", .range = {}, .widest_span = {}}, zeros, 0.05)));
}

PolarFigure around(double level)
{
  PolarFigure figure;
  figure.zero_name = "just closes";
  figure.series.push_back({"403.5 MHz", {}, {}});
  for (int angle = 0; angle < 360; ++angle) {
    figure.series[0].angle_deg.push_back(angle);
    figure.series[0].level.push_back(level);
  }
  return figure;
}

Canvas drawn(const PolarFigure& figure)
{
  return as_pixels(polar_picture(figure), {});
}

// -10 dB everywhere, and a circle at 0 dB: the levels go from -20 to 10 dB over 380
// pixels, so that the curve is a circle of 126.7 pixels about (560, 560), 0 dB one of
// 253.3.
TEST(PolarFigure, DrawsLevelsAsRadii)
{
  const Canvas canvas = drawn(around(-10.0));
  EXPECT_EQ(canvas.at(560 + 126, 560), line_color(0));
  EXPECT_EQ(canvas.at(560, 560 - 127), line_color(0));
  EXPECT_EQ(canvas.at(560 - 254, 560), light_theme.ink);
  EXPECT_EQ(canvas.at(560, 560 + 253), light_theme.ink);
  EXPECT_NE(canvas.at(560 + 150, 560 + 20), line_color(0));
}

TEST(PolarFigure, SaysWhatIsLowerThanItsCentre)
{
  PolarFigure figure = around(-10.0);
  const int height = drawn(figure).height();
  figure.series[0].level[7] = -std::numeric_limits<double>::infinity();
  EXPECT_GT(drawn(figure).height(), height);
}

TEST(PolarFigure, RefusesWhatCannotBeDrawn)
{
  EXPECT_THROW(static_cast<void>(drawn(around(gap))), std::invalid_argument);
  PolarFigure uneven = around(0.0);
  uneven.series[0].angle_deg.pop_back();
  EXPECT_THROW(static_cast<void>(drawn(uneven)), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::postproc
