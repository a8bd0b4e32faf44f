/// \file
/// \brief Standard output and what it is connected to.

#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace torsowave::app {

/// Whether messages (standard error) go to a terminal rather than into a log.
[[nodiscard]] bool messages_on_terminal() noexcept;

/// Characters in a line of the terminal on standard output; empty where it is none.
[[nodiscard]] std::optional<std::size_t> result_columns() noexcept;

/// Prints a result to standard output, all of it, now.
/// \throws postproc::WriteError  It could not be written, e.g. the disk is full.
void print_result(std::string_view text);

/// Prints a message to standard error; what cannot be written is lost.
void print_message(std::string_view text) noexcept;

}  // namespace torsowave::app
