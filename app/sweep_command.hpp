/// \file
/// \brief `torsowave sweep`.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

/// Adds `torsowave sweep` to the program.
void add_sweep_command(const Commands& commands);

}  // namespace torsowave::app
