/// \file
/// \brief Progress of a run or a sweep on standard error.

#pragma once

#include <functional>

#include "app/run_scenario.hpp"
#include "app/sweep_runner.hpp"

namespace torsowave::app {

/// One line that renews itself on a terminal, a line in ten seconds in a log.
[[nodiscard]] std::function<void(const Progress&)> progress_printer();

/// The same for a sweep.
[[nodiscard]] std::function<void(const SweepProgress&)> sweep_progress_printer();

/// Takes the line of progress off a terminal.
void clear_progress();

}  // namespace torsowave::app
