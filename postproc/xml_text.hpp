/// \file
/// \brief Text inside XML.

#pragma once

#include <string>
#include <string_view>

namespace torsowave::postproc {

/// `text` with the characters that would be markup replaced (W3C, *Extensible Markup
/// Language 1.0*, 2.4): fit for an element or a quoted attribute.
[[nodiscard]] std::string xml_escaped(std::string_view text);

}  // namespace torsowave::postproc
