/// \file
/// \brief Tissue properties as text, comma-separated values and JSON.

#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "materials/tissue.hpp"

namespace torsowave::app {

/// A frequency as the user wrote it, and its value.
struct NamedFrequency {
  std::string name;    ///< e.g. "2.45 GHz"
  double value = 0.0;  ///< [Hz]
};

/// Tissues of the library; they live as long as the program.
using Tissues = std::vector<const materials::Tissue*>;

/// The whole library: name, display name, where the parameters come from, density; and
/// what the table's words for that mean.
[[nodiscard]] std::string library_text(std::size_t most_columns);
[[nodiscard]] std::string library_notes(std::size_t most_columns);
[[nodiscard]] std::string library_csv();
[[nodiscard]] std::string library_json();

/// Plane-wave quantities of each tissue: one table for each frequency.
[[nodiscard]] std::string waves_text(const Tissues& tissues,
                                     std::span<const NamedFrequency> frequencies,
                                     std::size_t most_columns);

/// Where the tissues' parameters come from, and how far to trust them.
[[nodiscard]] std::string waves_notes(const Tissues& tissues, std::size_t most_columns);

/// A record for each tissue and frequency, in full precision.
[[nodiscard]] std::string waves_csv(const Tissues& tissues,
                                    std::span<const NamedFrequency> frequencies);

/// The same in SI units, with sources and caution; an infinite depth is null.
[[nodiscard]] std::string waves_json(const Tissues& tissues,
                                     std::span<const NamedFrequency> frequencies);

}  // namespace torsowave::app
