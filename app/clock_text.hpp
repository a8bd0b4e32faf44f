/// \file
/// \brief Stretches of time for people.

#pragma once

#include <string>

namespace torsowave::app {

/// m:ss, from an hour on h:mm:ss.
[[nodiscard]] std::string clock_text(double seconds);

}  // namespace torsowave::app
