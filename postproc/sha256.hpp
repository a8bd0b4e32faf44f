/// \file
/// \brief SHA-256, to tell whether two results came from the same scenario file.

#pragma once

#include <string>
#include <string_view>

namespace torsowave::postproc {

/// Digest of the bytes of `text` as 64 lower-case hexadecimal digits.
/// \see NIST, FIPS PUB 180-4, Secure Hash Standard, 2015, sections 5.1.1 and 6.2.
[[nodiscard]] std::string sha256(std::string_view text);

}  // namespace torsowave::postproc
