#include "scenarios/samples_file.hpp"

#include <fmt/format.h>

#include <cstdint>
#include <fstream>
#include <string>
#include <string_view>
#include <system_error>

#include "scenarios/input_error.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view blanks = " \t\r,;";
/// Far above two numbers and a comment [bytes].
constexpr std::size_t longest_line = 4096;

/// Next word of `line` from `at` on; empty at its end.
[[nodiscard]] std::string_view word(std::string_view line, std::size_t& at)
{
  at = std::min(line.find_first_not_of(blanks, at), line.size());
  const std::size_t end = std::min(line.find_first_of(blanks, at), line.size());
  const std::string_view found = line.substr(at, end - at);
  at = end;
  return found;
}

/// std::getline, but no more than a character beyond the longest line is ever kept.
[[nodiscard]] bool next_line(std::ifstream& file, std::string& line)
{
  line.clear();
  char c = '\0';
  while (line.size() <= longest_line && file.get(c)) {
    if (c == '\n') {
      return true;
    }
    line += c;
  }
  return !line.empty();
}

}  // namespace

bool is_readable_input(const std::filesystem::path& path) noexcept
{
  std::error_code error;
  const bool plain = std::filesystem::is_regular_file(path, error);
  return plain && std::filesystem::file_size(path, error) <= max_input_bytes && !error;
}

Samples read_samples(const std::filesystem::path& path)
{
  std::ifstream file;
  if (is_readable_input(path)) {
    file.open(path);
  }
  if (!file.is_open()) {
    refuse({path.string(), 0, 0},
           "cannot be read; name a text file of times and currents, of at most 1 GiB");
  }
  Samples samples;
  std::string line;
  for (int number = 1; next_line(file, line); ++number) {
    if (line.size() > longest_line) {
      refuse({path.string(), number, 1},
             fmt::format("longer than {} characters", longest_line));
    }
    std::size_t at = 0;
    const std::string_view time = word(line, at);
    if (time.empty() || time.front() == '#') {
      continue;
    }
    const Location here{path.string(), number, 1};
    const std::string_view current = word(line, at);
    try {
      samples.time.push_back(parse_number(time));
      samples.current.push_back(parse_number(current));
    } catch (const QuantityError& error) {
      refuse(here,
             fmt::format("{}; a line holds a time in seconds and a current in amperes",
                         error.what()));
    }
    if (samples.time.size() > 1 && !(samples.time.back() > *(samples.time.end() - 2))) {
      refuse(here, "the times must ascend");
    }
    if (samples.time.size() > max_samples) {
      refuse(here, fmt::format("more than {} samples", max_samples));
    }
  }
  if (samples.time.size() < 2) {
    refuse({path.string(), 0, 0}, "holds fewer than 2 samples");
  }
  return samples;
}

}  // namespace torsowave::scenarios
