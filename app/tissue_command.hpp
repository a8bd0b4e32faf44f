/// \file
/// \brief `torsowave tissue`: what is in the library, and what a wave meets in a tissue.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

/// Adds `torsowave tissue` to the program.
void add_tissue_command(const Commands& commands);

}  // namespace torsowave::app
