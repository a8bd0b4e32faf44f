/// \file
/// \brief Mode 1D: where the power goes, from the powers in a row of cells.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Powers per area [W/m^2] in the plan's row of cells, of a run or of the exact phasors
/// on the same grid.
struct RowPowers {
  /// Heat of one tissue's conductivity between two places x [m].
  std::function<double(const std::string& tissue, double from, double to)> heat;
  /// Flux along +x through the edge left of a cell.
  std::function<double(int edge)> flux;
};

/// Heat in each layer of the plan's stack.
[[nodiscard]] std::vector<double> heat_by_layer(const RunPlan& plan,
                                                const RowPowers& row);

/// What the half-space left of all layers takes for good: the flux through the next edge
/// beyond the face, and what it absorbs up to there.
/// \param delivered  power of a current sheet, which may stand in that half-space; 0 for
///                   a plane wave from the other side
[[nodiscard]] double into_first(const RunPlan& plan, const RowPowers& row,
                                double delivered);

/// The same of the half-space right of all layers.
[[nodiscard]] double into_last(const RunPlan& plan, const RowPowers& row,
                               double delivered);

}  // namespace torsowave::app
