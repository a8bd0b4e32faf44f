/// \file
/// \brief What `torsowave check` tells, as text and JSON.

#pragma once

#include <cstddef>
#include <string>

#include "app/price.hpp"
#include "app/run_plan.hpp"

namespace torsowave::app {

/// Grid, time step, memory, wall time, a table of the tissues and the slice in letters.
[[nodiscard]] std::string check_text(const RunPlan& plan, const Price& price,
                                     std::size_t most_columns);

/// The same numbers in SI units.
[[nodiscard]] std::string check_json(const RunPlan& plan, const Price& price);

}  // namespace torsowave::app
