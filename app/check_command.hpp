/// \file
/// \brief `torsowave check`.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

/// Adds `torsowave check` to the program.
void add_check_command(const Commands& commands);

}  // namespace torsowave::app
