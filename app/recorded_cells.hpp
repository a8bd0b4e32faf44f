/// \file
/// \brief Where a run needs the fields' Fourier sums.

#pragma once

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Whether a picture shows SAR, cell by cell.
[[nodiscard]] bool wants_sar_map(const scenarios::Scenario& scenario);

/// The cells whose sums somebody reads: all of them, if phasors or pictures of fields are
/// asked for, in mode 1D and for a cw source, whose steady state is looked for
/// everywhere; else the box around everything that absorbs, what is beside the skin where
/// it is cut into sectors, and the source. Powers do not depend on it.
[[nodiscard]] solver::CellBox recorded_cells(const RunPlan& plan);

}  // namespace torsowave::app
