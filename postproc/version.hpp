/// \file
/// \brief Which torsowave wrote a result.

#pragma once

namespace torsowave::postproc {

/// Release number, e.g. "0.1.0".
[[nodiscard]] const char* tool_version() noexcept;

/// Git revision that was built, or "unknown" outside a checkout.
[[nodiscard]] const char* tool_revision() noexcept;

}  // namespace torsowave::postproc
