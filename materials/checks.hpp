/// \file
/// \brief Argument checks shared by the materials (private).

#pragma once

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>
#include <string_view>

namespace torsowave::materials {

/// \throws std::invalid_argument  "<subject> must be <rule>, got <value>" when `ok` is
/// false.
inline void require(bool ok, std::string_view subject, std::string_view rule,
                    double value)
{
  if (!ok) {
    throw std::invalid_argument(
        fmt::format("{} must be {}, got {}", subject, rule, value));
  }
}

/// \throws std::invalid_argument  The frequency [Hz] is not finite or not positive.
inline void require_frequency(double frequency)
{
  require(std::isfinite(frequency) && frequency > 0.0, "frequency [Hz]", "finite and > 0",
          frequency);
}

}  // namespace torsowave::materials
