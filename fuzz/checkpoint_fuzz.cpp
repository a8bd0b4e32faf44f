// The checkpoint of a small grid. The first byte says what the others are: 0: the file
// itself; 1: edits of a good one; else: edits, with the check sums made right again, so
// that they reach what lies behind.

#include <algorithm>
#include <cstring>
#include <functional>

#include "app/checkpoint_file.hpp"
#include "fuzz/input.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/scenes.hpp"
#include "solver/state_archive.hpp"
#include "solver/waveform.hpp"

namespace {

using namespace torsowave;

/// What a run keeps, in small.
struct State {
  solver::TmzStepper<float> stepper =
      solver::scenes::layered(12, 10, 3, 2).stepper<float>({.threads = 1});
  solver::PhasorRecorder phasors{stepper.grid(), {1e9, 2e9}};
  std::vector<double> energy{1.0, 2.0};

  State() { stepper.add_source({6, 5, solver::pulse_waveform(2e9, 3.6e9).current}); }

  void save(solver::StateWriter& out) const
  {
    stepper.save(out);
    phasors.save(out);
    out.write("energy", energy);
  }
  void restore(solver::StateReader& in)
  {
    stepper.restore(in);
    phasors.restore(in);
    in.read_growing("energy", energy, 100);
  }
};

[[nodiscard]] fuzz::Bytes good_checkpoint()
{
  const fuzz::ScratchFile file;
  State state;
  state.stepper.advance(3);
  state.phasors.sample(state.stepper, 1.0);
  app::CheckpointWriter out(file.path(), {{"fuzz", "baseline", "s", "l", 0.0}, 60.0, 3});
  state.save(out);
  out.commit();
  return fuzz::content(file.path());
}

template <class Number>
[[nodiscard]] Number number_at(const fuzz::Bytes& file, std::size_t at)
{
  Number number{};
  std::memcpy(&number, file.data() + at, sizeof number);
  return number;
}

/// Walks along the records as far as they make sense. \see app/checkpoint_file.hpp
void repair_sums(fuzz::Bytes& file)
{
  const auto line_end = std::ranges::find(file, '\n');
  auto at = static_cast<std::size_t>(std::distance(file.begin(), line_end)) + 1;
  constexpr std::size_t fixed = 4 + 8 + 8 + 4;
  while (at + fixed <= file.size()) {
    const std::size_t left = file.size() - at - fixed;
    const auto name = number_at<std::uint32_t>(file, at);
    if (name > left) {
      return;
    }
    const auto each = number_at<std::uint64_t>(file, at + 4 + name);
    const auto count = number_at<std::uint64_t>(file, at + 12 + name);
    if (each == 0 || count > (left - name) / each) {
      return;
    }
    const std::size_t sum_at = at + 20 + name + each * count;
    const std::uint32_t sum =
        app::add_to_crc(0, std::as_bytes(std::span(file).subspan(at, sum_at - at)));
    std::memcpy(file.data() + sum_at, &sum, sizeof sum);
    at = sum_at + sizeof sum;
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size == 0) {
    return 0;
  }
  static const fuzz::Bytes good = good_checkpoint();
  static const fuzz::ScratchFile file;
  fuzz::Bytes bytes(data + 1, data + size);
  if (data[0] > 0) {
    fuzz::Input input({data + 1, size - 1});
    bytes = fuzz::edited(good, input);
  }
  if (data[0] > 1) {
    repair_sums(bytes);
  }
  file.fill(bytes);
  try {
    app::CheckpointReader in(file.path());
    State state;
    state.restore(in);
    in.finish();
    state.stepper.advance(2);  // whatever the numbers are
  } catch (const solver::StateError&) {
    return 0;  // refused
  }
  return 0;
}
