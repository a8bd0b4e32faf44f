// A scenario file. Files that it names are looked for where there are none.

#include <cmath>

#include "fuzz/input.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace {

using torsowave::fuzz::require;

void look(const torsowave::scenarios::Scenario& scenario)
{
  require(!scenario.frequencies.empty(), "no frequency");
  for (const double frequency : scenario.frequencies) {
    require(frequency > 0.0 && std::isfinite(frequency), "a frequency that is none");
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  using namespace torsowave::scenarios;
  const std::string text(torsowave::fuzz::as_text(data, size));
  try {
    look(parse_scenario(text, "/nowhere/scenario.yaml"));
  } catch (const InputError& error) {
    require(!error.faults().empty(), "a refusal without a fault");
  }
  try {
    static_cast<void>(parse_link_alone(text, "/nowhere/scenario.yaml"));
  } catch (const InputError& error) {
    require(!error.faults().empty(), "a refusal without a fault");
  }
  return 0;
}
