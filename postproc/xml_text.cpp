#include "postproc/xml_text.hpp"

namespace torsowave::postproc {

std::string xml_escaped(std::string_view text)
{
  std::string result;
  for (const char c : text) {
    result += c == '&'   ? "&amp;"
              : c == '<' ? "&lt;"
              : c == '>' ? "&gt;"
              : c == '"' ? "&quot;"
                         : std::string(1, c);
  }
  return result;
}

}  // namespace torsowave::postproc
