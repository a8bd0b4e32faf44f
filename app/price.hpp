/// \file
/// \brief How long a run will take, from a short measurement on this machine.

#pragma once

#include "app/run_plan.hpp"

namespace torsowave::app {

/// What a run would cost on this machine.
struct Price {
  int threads = 1;
  double rate = 0.0;   ///< cell updates per second
  long steps = 0;      ///< estimated for automatic durations
  double seconds = 0;  ///< wall time of the steps [s]
};

/// Cell updates per second of this machine for the plan's precision and number of poles,
/// measured on a small tissue-filled grid in about a tenth of a second.
[[nodiscard]] double measured_rate(const RunPlan& plan, int threads);

/// The price of a run, by a measurement of that rate.
[[nodiscard]] Price price_of(const RunPlan& plan, int threads);

}  // namespace torsowave::app
