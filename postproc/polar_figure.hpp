/// \file
/// \brief Levels over the direction as curves about a centre.

#pragma once

#include <string>
#include <vector>

#include "postproc/vector_figure.hpp"

namespace torsowave::postproc {

/// One closed curve; a level that is not finite is a gap.
struct PolarSeries {
  std::string name;
  std::vector<double> angle_deg;  ///< ascending, counter-clockwise from +x
  std::vector<double> level;      ///< [dB]
};

struct PolarFigure {
  std::string title;
  std::string subtitle;
  std::string level_label;  ///< with its unit
  std::vector<PolarSeries> series;
  std::string zero_name;           ///< of a heavy circle at 0 dB; empty: none
  double widest_span = 40.0;       ///< from the outer circle to the centre at most [dB]
  std::vector<std::string> notes;  ///< small, below
};

/// The figure: circles of 10 dB, spokes of 30 degrees, the patient's sides. With a circle
/// at 0 dB the levels shown reach beyond it. What lies
/// below the centre's level is drawn at the centre; a note says how many values. \throws
/// std::invalid_argument  No finite level, or angles and levels differ in number. \throws
/// FontError
[[nodiscard]] VectorFigure polar_picture(const PolarFigure& figure);

}  // namespace torsowave::postproc
