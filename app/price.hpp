/// \file
/// \brief How long a run will take, from a short measurement on this machine.

#pragma once

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Cell updates per second of this machine for the plan's precision and number of poles,
/// measured on a small tissue-filled grid in about a tenth of a second.
[[nodiscard]] double measured_rate(const RunPlan& plan, int threads);

}  // namespace torsowave::app
