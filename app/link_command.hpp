/// \file
/// \brief `torsowave link`: the budget between implant and reader.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

void add_link_command(const Commands& commands);

}  // namespace torsowave::app
