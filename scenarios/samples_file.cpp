#include "scenarios/samples_file.hpp"

#include <fmt/format.h>

#include <fstream>
#include <string>
#include <string_view>

#include "scenarios/input_error.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view blanks = " \t\r,;";

/// Next word of `line` from `at` on; empty at its end.
[[nodiscard]] std::string_view word(std::string_view line, std::size_t& at)
{
  at = std::min(line.find_first_not_of(blanks, at), line.size());
  const std::size_t end = std::min(line.find_first_of(blanks, at), line.size());
  const std::string_view found = line.substr(at, end - at);
  at = end;
  return found;
}

}  // namespace

Samples read_samples(const std::filesystem::path& path)
{
  std::ifstream file(path);
  if (!file) {
    refuse({path.string(), 0, 0},
           "cannot be read; name a text file of times and currents");
  }
  Samples samples;
  std::string line;
  for (int number = 1; std::getline(file, line); ++number) {
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
