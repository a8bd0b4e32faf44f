/// \file
/// \brief `torsowave render`: pictures and animations from a stored result.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

void add_render_command(const Commands& commands);

}  // namespace torsowave::app
