/// \file
/// \brief Progress of a run on standard error.

#pragma once

#include <functional>

#include "app/run_scenario.hpp"

namespace torsowave::app {

/// One line that renews itself on a terminal, a line in ten seconds in a log.
[[nodiscard]] std::function<void(const Progress&)> progress_printer();

/// Takes the line of progress off a terminal.
void clear_progress();

}  // namespace torsowave::app
