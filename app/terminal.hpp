/// \file
/// \brief Standard output and what it is connected to.

#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

namespace torsowave::app {

/// A write that fails, because the file would grow beyond the user's limit or the reader
/// has gone, becomes an error that is told instead of a signal that ends the process.
void tell_failed_writes() noexcept;

/// Characters in a line of the terminal on standard output; empty where it is none.
[[nodiscard]] std::optional<std::size_t> result_columns() noexcept;

/// Prints a result to standard output, all of it, now.
/// \throws postproc::WriteError  It could not be written, e.g. the disk is full.
void print_result(std::string_view text);

/// Makes sure that all results printed so far have left the program. Where their reader
/// has gone (`| head`), the process ends by SIGPIPE as any filter.
/// \throws postproc::WriteError  Some of them could not be written.
void flush_results();

/// Prints a message to standard error; what cannot be written is lost.
void print_message(std::string_view text) noexcept;

}  // namespace torsowave::app
