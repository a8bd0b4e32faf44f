/// \file
/// \brief The same scenario on finer cells, for the grid error.

#pragma once

#include <string>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Fine enough against rounding, coarse enough to be paid: 3.4 times the work.
inline constexpr double default_refinement = 2.0 / 3.0;

/// Plans the scenario of `plan` with cells `ratio` times as large and powers as the only
/// output.
/// \param ratio  0 < ratio < 1
/// \throws  as plan_run(), MachineError among them
[[nodiscard]] RunPlan plan_refined(const RunPlan& plan, double ratio);

/// The order of convergence that an extrapolation assumes: 2 in TMz with averaged cells,
/// 1 without averaging (docs/numerics.md, section 11). In TEz powers converge with orders
/// of 1.1 to 2.3 (docs/validation.md), most slowly at thin layers; 1 is assumed, which
/// makes the error of the coarser run the larger one.
[[nodiscard]] double convergence_order(const RunPlan& plan);

/// Whether nothing lossy lies on the contour that radiated power is counted on. Else
/// absorbed and radiated power depend on where that contour is.
[[nodiscard]] bool losses_end_inside(const RunPlan& plan);

/// What the second run is and takes, from the time of the first.
/// \param wall_seconds  of the first run
[[nodiscard]] std::string refinement_text(const RunPlan& plan, const RunPlan& refined,
                                          double wall_seconds);

}  // namespace torsowave::app
