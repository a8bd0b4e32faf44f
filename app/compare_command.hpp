/// \file
/// \brief `torsowave compare`: full wave beside the exact answer.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

void add_compare_command(const Commands& commands);

}  // namespace torsowave::app
