/// \file
/// \brief `torsowave slab`: the analytic answer for planar layers.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

void add_slab_command(const Commands& commands);

}  // namespace torsowave::app
