/// \file
/// \brief A sampled waveform: a text file of times and currents.

#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

namespace torsowave::scenarios {

/// Columns of a sampled waveform.
struct Samples {
  std::vector<double> time;     ///< [s], ascending
  std::vector<double> current;  ///< [A]
};

/// Most lines accepted: untrusted input is read with limits.
inline constexpr std::size_t max_samples = 10'000'000;

/// Largest file that a scenario may name [bytes].
inline constexpr std::uintmax_t max_input_bytes = std::uintmax_t{1} << 30U;

/// Whether `path` is a plain file of at most max_input_bytes: a device or a pipe would
/// have no end.
[[nodiscard]] bool is_readable_input(const std::filesystem::path& path) noexcept;

/// Reads lines of "time current" (seconds, amperes), separated by blanks or a comma;
/// lines that start with # and empty lines are skipped. \throws InputError  Unreadable,
/// not two numbers in a line, times that do not ascend, fewer
///         than 2 lines; with the line's number.
[[nodiscard]] Samples read_samples(const std::filesystem::path& path);

}  // namespace torsowave::scenarios
