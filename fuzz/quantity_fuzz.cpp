// The first byte chooses what the text should measure.

#include <cmath>

#include "fuzz/input.hpp"
#include "scenarios/quantity.hpp"

namespace {

using namespace torsowave::scenarios;

void read_number(std::string_view text)
{
  try {
    torsowave::fuzz::require(std::isfinite(parse_number(text)),
                             "a number that is not finite");
  } catch (const QuantityError&) {
    return;  // refused
  }
}

void read_quantity(std::string_view text, Dimension dimension)
{
  try {
    const double value = parse_quantity(text, dimension);
    torsowave::fuzz::require(std::isfinite(value), "a quantity that is not finite");
    static_cast<void>(show_quantity(value, dimension));
  } catch (const QuantityError&) {
    return;  // refused
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size == 0) {
    return 0;
  }
  constexpr int dimensions = static_cast<int>(Dimension::working_time) + 1;
  const std::string_view text = torsowave::fuzz::as_text(data + 1, size - 1);
  read_number(text);
  read_quantity(text, static_cast<Dimension>(data[0] % dimensions));
  return 0;
}
