#include "scenarios/message_text.hpp"

#include <fmt/format.h>

#include <cstddef>

#include "materials/tissue.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t longest_shown = 60;

unsigned byte_at(std::string_view text, std::size_t at)
{
  return static_cast<unsigned char>(text[at]);
}

bool continues(std::string_view text, std::size_t at)
{
  return at < text.size() && (byte_at(text, at) & 0xC0U) == 0x80U;
}

/// Bytes of the well-formed sequence at `at`, 0 if it is not one.
/// The Unicode Standard, version 15, table 3-7 (from memory): no overlong forms, no
/// surrogates, nothing above U+10FFFF.
std::size_t sequence_length(std::string_view text, std::size_t at)
{
  const unsigned lead = byte_at(text, at);
  if (lead < 0x80U) {
    return 1;
  }
  const std::size_t length = lead >= 0xF0U ? 4 : lead >= 0xE0U ? 3 : 2;
  if (lead < 0xC2U || lead > 0xF4U) {
    return 0;
  }
  for (std::size_t k = 1; k < length; ++k) {
    if (!continues(text, at + k)) {
      return 0;
    }
  }
  const unsigned second = byte_at(text, at + 1);
  const bool bad = (lead == 0xE0U && second < 0xA0U) ||
                   (lead == 0xEDU && second > 0x9FU) ||
                   (lead == 0xF0U && second < 0x90U) || (lead == 0xF4U && second > 0x8FU);
  return bad ? 0 : length;
}

bool is_control(unsigned byte)
{
  return (byte < 0x20U && byte != '\t' && byte != '\n' && byte != '\r') || byte == 0x7FU;
}

/// The text's first and last bytes, cut between characters.
std::string shortened(std::string_view text)
{
  std::size_t head = longest_shown * 2 / 3;
  while (continues(text, head)) {
    --head;
  }
  std::size_t tail = text.size() - longest_shown / 4;
  while (continues(text, tail)) {
    ++tail;
  }
  return fmt::format("{}...{}", text.substr(0, head), text.substr(tail));
}

}  // namespace

std::string printable(std::string_view text)
{
  const std::string whole =
      text.size() > longest_shown ? shortened(text) : std::string{text};
  std::string result;
  for (std::size_t at = 0; at < whole.size(); ++at) {
    const unsigned byte = byte_at(whole, at);
    if (byte < 0x20U || byte == 0x7FU) {
      result += fmt::format("\\x{:02x}", byte);
    } else {
      result += whole[at];
    }
  }
  return result;
}

std::string in_quotes(std::string_view text)
{
  return fmt::format("\"{}\"", printable(text));
}

std::string listed(std::span<const std::string> names)
{
  return fmt::format("{}", fmt::join(names, ", "));
}

std::string hint(std::string_view word, std::span<const std::string> candidates)
{
  if (word.size() < 2 || word.size() > longest_shown) {  // no slip of the pen
    return "";
  }
  const std::string nearest = materials::nearest_name(word, candidates);
  return nearest.empty() ? "" : fmt::format(R"( (did you mean "{}"?))", nearest);
}

std::optional<std::size_t> first_bad_byte(std::string_view text)
{
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t length = sequence_length(text, at);
    if (length == 0 || is_control(byte_at(text, at))) {
      return at;
    }
    at += length;
  }
  return std::nullopt;
}

}  // namespace torsowave::scenarios
