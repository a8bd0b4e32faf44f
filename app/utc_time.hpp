/// \file
/// \brief The moment at which a result was made.

#pragma once

#include <string>

namespace torsowave::app {

/// Now, e.g. "2026-03-01T12:00:00Z" (ISO 8601).
[[nodiscard]] std::string utc_now();

}  // namespace torsowave::app
