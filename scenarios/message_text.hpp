/// \file
/// \brief The user's words in our messages: quoted, shortened, harmless to a terminal.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace torsowave::scenarios {

/// `text` with control characters escaped and its middle left out beyond 60 bytes.
[[nodiscard]] std::string printable(std::string_view text);

/// The same between double quotes.
[[nodiscard]] std::string in_quotes(std::string_view text);

/// "a, b, c"
[[nodiscard]] std::string listed(std::span<const std::string> names);

/// ` (did you mean "cell"?)`, or nothing if no candidate is near.
[[nodiscard]] std::string hint(std::string_view word,
                               std::span<const std::string> candidates);

/// Byte offset of the first place that is not UTF-8, or that is a control character other
/// than tab and line ends; empty if all is well.
[[nodiscard]] std::optional<std::size_t> first_bad_byte(std::string_view text);

}  // namespace torsowave::scenarios
