/// \file
/// \brief Curves over one axis: a general figure with ticks, legend, gaps, marks and
/// bands.

#pragma once

#include <array>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "postproc/vector_figure.hpp"

namespace torsowave::postproc {

enum class LineStyle { solid, dashed, dots };

/// One curve. A value that is not finite is a gap.
struct LineSeries {
  std::string name;       ///< in the legend; empty: not there
  std::vector<double> x;  ///< in any order
  std::vector<double> y;
  LineStyle style = LineStyle::solid;
  std::optional<Color> color;  ///< empty: the next of line_color()
};

/// An axis. Without a range it holds all values of the curves, with some air.
struct LineAxis {
  std::string label;  ///< with its unit, e.g. "frequency [GHz]"
  std::optional<std::array<double, 2>> range;
  bool logarithmic = false;           ///< the values are > 0
  std::optional<double> widest_span;  ///< without a range: shows no more below its top
};

/// A vertical line, e.g. an interface or a frequency of interest.
struct LineMark {
  double x = 0.0;
  std::string text;  ///< beside it, if any
};

/// A tinted stretch of the x axis, e.g. a layer; its name stands at the top.
struct LineBand {
  double from = 0.0;
  double to = 0.0;
  std::string name;
  Color color{};
};

struct LineFigure {
  std::string title;
  std::string subtitle;
  LineAxis x;
  LineAxis y;
  std::vector<LineSeries> series;
  std::vector<LineMark> marks;
  std::vector<LineBand> bands;
  std::vector<std::string> notes;  ///< small, below the axis
};

/// Colours of curve 0, 1, ... that can be told apart with defective colour vision too;
/// from the eighth on they come round again. \see M. Okabe, K. Ito, *Color Universal
/// Design*, 2008 (from memory; its yellow, too pale for a line on white, is left out).
[[nodiscard]] Color line_color(std::size_t index) noexcept;

/// The figure, on a page 1400 wide. Curves beyond the axes are cut off there; a note says
/// how many values `widest_span` leaves out. \throws std::invalid_argument  No finite
/// value at all, x and y of a series differ in
///         number, or a range is empty or, on a logarithmic axis, not above 0.
/// \throws FontError
[[nodiscard]] VectorFigure line_picture(const LineFigure& figure);

/// The same as pixels.
[[nodiscard]] Canvas draw_lines(const LineFigure& figure, const Look& look = {});

/// The same as a file. \see write_figure()
/// \throws WriteError
void write_lines(const LineFigure& figure, const std::filesystem::path& path,
                 const Look& look = {});

}  // namespace torsowave::postproc
