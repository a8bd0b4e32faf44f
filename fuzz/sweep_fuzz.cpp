// A sweep file beside a small base scenario: "base: base.yaml".

#include "fuzz/input.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/sweep_plan.hpp"

namespace {

namespace fs = std::filesystem;

constexpr const char* base = R"(title: Invented small slice
mode: TMz
grid: {cell: 2 mm, size: [136 mm, 126 mm], absorbing_cells: 8}
body:
  shapes:
    - {tissue: muscle, circle: {center: [0 mm, 0 mm], radius: 40 mm}}
implant: {position: [10 mm, -5 mm], source: line_current}
waveform: {type: pulse, center: 915 MHz, bandwidth: 1.4 GHz}
frequencies: [700 MHz, 915 MHz]
)";

/// With the base in it.
class SweepFolder {
public:
  SweepFolder()
  {
    const std::string_view text = base;
    torsowave::fuzz::fill(
        folder_ / "base.yaml",
        {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  }
  [[nodiscard]] fs::path sweep() const { return folder_ / "sweep.yaml"; }

private:
  torsowave::fuzz::ScratchFolder folder_;
};

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  using namespace torsowave::scenarios;
  static const SweepFolder folder;
  torsowave::fuzz::fill(folder.sweep(), {data, size});
  for (const bool keep_faulty : {false, true}) {
    try {
      const SweepPlan plan = read_sweep(folder.sweep(), "fuzz", keep_faulty);
      torsowave::fuzz::require(!plan.cases.empty() && plan.cases.size() <= max_cases,
                               "a number of cases that is out of bounds");
      static_cast<void>(plan.scenario_text(plan.cases.size() - 1));
      static_cast<void>(plan.values_text(0));
    } catch (const InputError& error) {
      torsowave::fuzz::require(!error.faults().empty(), "a refusal without a fault");
    }
  }
  return 0;
}
