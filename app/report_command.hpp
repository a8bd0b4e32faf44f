/// \file
/// \brief `torsowave report`: one self-contained page of a result or a sweep.

#pragma once

#include "app/command.hpp"

namespace torsowave::app {

void add_report_command(const Commands& commands);

}  // namespace torsowave::app
