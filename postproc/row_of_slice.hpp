/// \file
/// \brief A straight line of cells through a slice, as a result of one row.

#pragma once

#include "postproc/result.hpp"
#include "postproc/result_file.hpp"
#include "postproc/row_figures.hpp"

namespace torsowave::postproc {

enum class SliceAxis { x, y };

/// Where a line lies.
struct SliceLine {
  SliceAxis along = SliceAxis::x;
  int index = 0;  ///< row (along x) or column (along y) of cells
};

/// The line of cells nearest to a place. \param at  the other coordinate [m]; empty:
/// through the implant, without one through the middle
/// \throws std::invalid_argument  The place is outside the slice.
[[nodiscard]] SliceLine line_through(const Result& slice, SliceAxis along,
                                     std::optional<double> at);

/// Tissues as layers, phasors and SAR of the line's cells; its coordinate is called x.
[[nodiscard]] Result row_of(const Result& slice, const SliceLine& line);

/// The same of one moment: the nearest line that it holds.
[[nodiscard]] Snapshot row_of(const Snapshot& moment, const Result& slice, int stride,
                              const SliceLine& line);

/// What figures call it.
[[nodiscard]] RowLine name_of(const Result& slice, const SliceLine& line);

}  // namespace torsowave::postproc
