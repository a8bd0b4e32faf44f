// The page of a result. The first byte says of which run: 0 and 1: a slice with an
// implant and a link, 2 and 3: layers under a wave; of these the odd ones take the others
// as edits of result.h5 byte by byte, the even ones as edits of what is in it.

#include <nlohmann/json.hpp>

#include "app/report_page.hpp"
#include "app/report_result.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "fuzz/input.hpp"
#include "fuzz/result_edits.hpp"
#include "postproc/read_error.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace {

using namespace torsowave;

constexpr int picture_width = 160;  // small ones are drawn sooner

constexpr const char* slice = R"(title: Invented small slice
mode: TMz
grid: {cell: 4 mm, size: [168 mm, 160 mm], absorbing_cells: 8}
body:
  shapes:
    - {tissue: muscle, circle: {center: [0 mm, 0 mm], radius: 24 mm}}
implant: {position: [0 mm, 0 mm], capsule: {radius: 6 mm, material: air}}
waveform: {type: pulse, center: 700 MHz, bandwidth: 1 GHz}
frequencies: [500 MHz, 700 MHz]
duration: {decay: 20 dB}
link:
  transmit_power: 25 uW
  reader: {distance: 2 m, gain: 2 dBi, noise_figure: 6 dB, bandwidth: 300 kHz}
  data_rate: 100 kbit/s
  target: {bit_error: 1e-3}
outputs:
  snapshots: {field: Ez, every: 1 ns, stride: 2}
  phasors: [Ez, Hx, Hy]
  sectors: 12
)";

constexpr const char* row = R"(title: Invented layers
mode: 1D
grid: {cell: 1 mm, size: 80 mm, absorbing_cells: 12}
body:
  background: air
  layers:
    - {tissue: skin_dry, thickness: 3 mm}
    - {tissue: muscle, thickness: half_space}
incident: {plane_wave: {angle: 0 deg}}
waveform: {type: pulse, center: 700 MHz, bandwidth: 1 GHz}
frequencies: [500 MHz, 700 MHz]
duration: {decay: 20 dB}
outputs:
  snapshots: {field: Ez, every: 1 ns}
  phasors: [Ez]
)";

/// A folder as `run` leaves it.
class Run {
public:
  explicit Run(const char* scenario) : folder_(scratch_ / "run")
  {
    const auto plan =
        app::plan_run(scenarios::parse_scenario(scenario, "/nowhere/a.yaml"));
    app::RunOptions options;
    options.folder = folder_;
    static_cast<void>(app::run_scenario(plan, options));
    good_ = fuzz::content(file());
    places_ = fuzz::places_in(file());
  }

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

  void change(bool bytes, fuzz::Input input) const
  {
    fuzz::fill(file(), bytes ? fuzz::edited(good_, input) : good_);
    if (!bytes) {
      fuzz::edit_places(file(), places_, input);
    }
  }

private:
  [[nodiscard]] std::filesystem::path file() const { return folder_ / "result.h5"; }

  fuzz::ScratchFolder scratch_;
  std::filesystem::path folder_;
  fuzz::Bytes good_;
  std::vector<std::string> places_;
};

[[nodiscard]] const Run& run_of(bool layers)
{
  if (layers) {
    static const Run one(row);
    return one;
  }
  static const Run one(slice);
  return one;
}

}  // namespace

/// The runs take longer than an input may.
// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerInitialize(int* /*count*/, char*** /*arguments*/)
{
  for (const bool layers : {false, true}) {
    static_cast<void>(run_of(layers));
  }
  return 0;
}

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size == 0) {
    return 0;
  }
  const bool as_it_is = size == 1;
  const Run& run = run_of((data[0] & 2U) != 0);
  run.change((data[0] & 1U) != 0, fuzz::Input({data + 1, size - 1}));
  try {
    const std::string page =
        app::report_page(app::result_page(run.folder(), picture_width));
    fuzz::require(page.ends_with("</html>\n"), "a page that is not whole");
  } catch (const postproc::ReadError&) {
    fuzz::require(!as_it_is, "a refusal of a good result");
  } catch (const scenarios::InputError&) {
    fuzz::require(!as_it_is, "a refusal of a good scenario");
  }
  return 0;
}
