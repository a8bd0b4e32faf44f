/// \file
/// \brief `torsowave run`.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

/// Adds `torsowave run` to the program.
void add_run_command(const Commands& commands);

}  // namespace torsowave::app
