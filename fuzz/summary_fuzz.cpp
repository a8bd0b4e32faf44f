// A summary.json, as a sweep reads it back.

#include "fuzz/input.hpp"
#include "postproc/summary_values.hpp"

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  try {
    static_cast<void>(
        torsowave::postproc::read_summary_values(torsowave::fuzz::as_text(data, size)));
  } catch (const torsowave::postproc::SummaryError&) {
    return 0;  // refused
  }
  return 0;
}
