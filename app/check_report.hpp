/// \file
/// \brief What `torsowave check` tells, as text and JSON.

#pragma once

#include <cstddef>
#include <string>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// What a run would cost on this machine.
struct Price {
  int threads = 1;
  double rate = 0.0;   ///< cell updates per second
  long steps = 0;      ///< estimated for automatic durations
  double seconds = 0;  ///< wall time of the steps [s]
};

/// Grid, time step, memory, wall time, a table of the tissues and the slice in letters.
[[nodiscard]] std::string check_text(const RunPlan& plan, const Price& price,
                                     std::size_t most_columns);

/// The same numbers in SI units.
[[nodiscard]] std::string check_json(const RunPlan& plan, const Price& price);

}  // namespace torsowave::app
