/// \file
/// \brief A comparison as text, comma-separated values and JSON.

#pragma once

#include <cstddef>
#include <string>

#include "postproc/compare_result.hpp"

namespace torsowave::app {

/// The largest difference of each quantity, that of each part, and the powers over
/// frequency (a dozen at most).
[[nodiscard]] std::string compare_text(const postproc::CompareResult& result,
                                       std::size_t most_columns);

/// The verdict in words: how far the run is off, in what, where, why, and what would
/// bring it down.
[[nodiscard]] std::string verdict_text(const postproc::CompareResult& result);

/// What the words and numbers of the table mean, and the caution.
[[nodiscard]] std::string compare_notes(const postproc::CompareResult& result,
                                        std::size_t most_columns);

/// A row for each quantity, frequency and angle, SI units, full precision.
[[nodiscard]] std::string compare_csv(const postproc::CompareResult& result);

/// All of it, SI units.
[[nodiscard]] std::string compare_json(const postproc::CompareResult& result);

}  // namespace torsowave::app
