/// \file
/// \brief `torsowave run`.

#pragma once

#include <optional>
#include <string>

#include "app/command.hpp"

namespace torsowave::app {

/// The interval between checkpoints as written on the command line [s]; empty: none.
/// \throws CLI::ValidationError  It is no time.
[[nodiscard]] std::optional<double> checkpoint_interval(const std::string& text);

/// Adds `torsowave run` to the program.
void add_run_command(const Commands& commands);

}  // namespace torsowave::app
