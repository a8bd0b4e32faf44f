// A sweep file beside a small base scenario: "base: base.yaml".

#include <unistd.h>

#include <fstream>

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

/// Removed at the end of the process.
class Folder {
public:
  Folder()
  {
    std::string name = (fs::temp_directory_path() / "torsowave-fuzz-XXXXXX").string();
    torsowave::fuzz::require(::mkdtemp(name.data()) != nullptr, "no folder");
    path_ = name;
    std::ofstream(path_ / "base.yaml") << base;
  }
  ~Folder()
  {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  [[nodiscard]] fs::path sweep() const { return path_ / "sweep.yaml"; }

private:
  fs::path path_;
};

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  using namespace torsowave::scenarios;
  static const Folder folder;
  std::ofstream(folder.sweep(), std::ios::binary) << torsowave::fuzz::as_text(data, size);
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
