/// \file
/// \brief Which program it is, where its revision does not say.

#pragma once

#include <string>

namespace torsowave::app {

/// SHA-256 of the running program if no revision stands for it (changes that are not
/// committed, no checkout); else empty.
[[nodiscard]] std::string program_digest();

}  // namespace torsowave::app
