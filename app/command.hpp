/// \file
/// \brief How a command joins the program.
///
/// Each command has one function `add_<name>_command` in its own header. It adds a
/// subcommand with its options to the program and lets the subcommand's callback set the
/// action, which main runs after the whole line is parsed and checked. The action throws
/// what it cannot do; main turns exceptions into messages and exit codes
/// (\see exit_codes.hpp).

#pragma once

#include <CLI/CLI.hpp>
#include <functional>

namespace torsowave::app {

/// What a command does; returns the exit code.
using Action = std::function<int()>;

/// Where a command registers itself. Both outlive the parse and the action.
struct Commands {
  CLI::App& program;  ///< gets the subcommand
  Action& chosen;     ///< set by the callback of the subcommand that was given
};

}  // namespace torsowave::app
