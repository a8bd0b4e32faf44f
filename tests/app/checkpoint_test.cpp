// A run that a signal stopped and that went on from its checkpoint ends with the bits of
// one that nobody disturbed; a checkpoint that is not whole or not its own is refused.

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <algorithm>
#include <csignal>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <ostream>
#include <string>
#include <vector>

#include "app/frame_spool.hpp"
#include "app/machine_error.hpp"
#include "app/refinement.hpp"
#include "app/run_scenario.hpp"
#include "postproc/summary_json.hpp"
#include "postproc/temporary_folder.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

/// A small case of each kind of stepper, number, source and waveform.
struct Case {
  std::string name;
  std::string mode;
  std::string precision;
  std::string source;  ///< a whole line of the scenario
  std::string waveform;
  std::string field;  ///< of the snapshots
};

// NOLINTNEXTLINE(readability-identifier-naming): the name that the test library calls
void PrintTo(const Case& c, std::ostream* out)
{
  *out << c.name;
}

const std::string pulse = "{type: pulse, center: 600 MHz, bandwidth: 700 MHz}";
const std::string cw = "{type: cw, frequency: 600 MHz, ramp: 2 ns}";

[[nodiscard]] std::string implant(const std::string& source)
{
  return "implant: {position: [14 mm, 0 mm], source: " + source +
         ", capsule: {radius: 8 mm, material: air}}";
}

[[nodiscard]] std::vector<Case> cases()
{
  const std::string wave = "incident: {plane_wave: {angle: ";
  const std::string sheet = "implant: {position: 14 mm, source: current_sheet}";
  return {
      {"line_pulse", "TMz", "single", implant("line_current"), pulse, "Hx"},
      {"line_cw", "TMz", "double", implant("line_current"), cw, "Ez"},
      {"wave_pulse", "TMz", "double", wave + "27 deg}}", pulse, "Ez"},
      {"magnetic_cw", "TEz", "single", implant("magnetic_line"), cw, "Hz"},
      {"dipole_pulse", "TEz", "double", implant("dipole, direction: 30 deg"), pulse,
       "Ex"},
      {"wave_cw_tez", "TEz", "single", wave + "0 deg}}", cw, "Ey"},
      {"line_fine", "TMz", "single", implant("line_current"), pulse, "Hy"},
      {"layers_wave", "1D", "single", wave + "0 deg}}", pulse, "Ez"},
      {"layers_sheet", "1D", "double", sheet, cw, "Ez"},
  };
}

[[nodiscard]] std::string body_of(const Case& c)
{
  if (c.mode == "1D") {
    return "grid: {cell: 1 mm, margin: 20 mm, precision: " + c.precision +
           "}\nbody:\n  layers:\n    - {tissue: fat_not_infiltrated, thickness: 8 mm}\n"
           "    - {tissue: muscle, thickness: 20 mm}\n";
  }
  const std::string cell = c.name == "line_fine" ? "0.5 mm" : "3 mm";
  return "grid: {cell: " + cell +
         ", margin: 45 mm, absorbing_cells: 8, precision: " + c.precision +
         ", allow_coarse: true}\nbody:\n  shapes:\n    - {tissue: muscle, circle: "
         "{center: "
         "[10 mm, -6 mm], radius: 30 mm}}\n";
}

/// A decaying pulse ends by the energy, the others at a time. The fine grid, stopped
/// between two observations, takes most of the time.
[[nodiscard]] std::string duration_of(const Case& c)
{
  return c.name == "line_pulse"  ? "{decay: 20 dB}"
         : c.name == "line_fine" ? "2 ns"
                                 : "7 ns";
}

[[nodiscard]] RunPlan plan_of(const Case& c, const std::string& title = "Invented")
{
  const bool layers = c.mode == "1D";
  return plan_run(scenarios::parse_scenario(
      fmt::format("title: {}\nmode: {}\n{}{}\nwaveform: {}\nfrequencies: {}\n"
                  "duration: {}\noutputs:\n  snapshots: {{field: {}, every: 0.4 ns{}}}\n"
                  "  phasors: [{}]\n  probes: [{{name: p, position: {}}}]\n",
                  title, c.mode, body_of(c), c.source, c.waveform,
                  c.waveform == cw ? "[600 MHz]" : "[500 MHz, 700 MHz]", duration_of(c),
                  c.field, layers ? "" : ", stride: 2", c.mode == "TEz" ? "Hz" : "Ez",
                  layers ? "4 mm" : "[20 mm, 0 mm]"),
      "case.yaml"));
}

[[nodiscard]] RunOptions options_of(const fs::path& folder)
{
  RunOptions options;
  options.folder = folder;
  return options;
}

[[nodiscard]] std::string content(const fs::path& path)
{
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void write(const fs::path& path, const std::string& bytes)
{
  std::ofstream(path, std::ios::binary) << bytes;
}

/// Keeps a checkpoint at every look and stops, as by a signal, after `looks` of them.
/// \return  Whether it was stopped before its end.
bool stopped_after(int looks, const RunPlan& plan, RunOptions options)
{
  options.checkpoint_every = 0.0;
  options.announce = [looks](const std::string& text) mutable {
    if (text.starts_with("checkpoint") && --looks == 0) {
      static_cast<void>(std::raise(SIGTERM));
    }
  };
  try {
    static_cast<void>(run_scenario(plan, options));
    return false;
  } catch (const Suspended& stopped) {
    EXPECT_NE(std::string(stopped.what()).find("--resume"), std::string::npos);
    return true;
  }
}

/// All of summary.json but what depends on the time and the machine.
[[nodiscard]] std::string timeless_summary(postproc::Result result)
{
  const std::string because = result.run.stopped_because;
  result.run = {};
  result.run.stopped_because = because;
  result.created.clear();
  if (result.refinement) {
    result.refinement->wall_seconds = 0.0;
  }
  return postproc::summary_json(result);
}

void expect_same(const postproc::Result& a, const postproc::Result& b)
{
  EXPECT_EQ(timeless_summary(a), timeless_summary(b));
  EXPECT_EQ(a.grid.steps, b.grid.steps);
  EXPECT_EQ(a.energy.time, b.energy.time);
  EXPECT_EQ(a.energy.total, b.energy.total);
  ASSERT_EQ(a.phasors.size(), b.phasors.size());
  for (std::size_t p = 0; p < a.phasors.size(); ++p) {
    EXPECT_EQ(a.phasors[p].values, b.phasors[p].values);
  }
  ASSERT_EQ(a.probes.size(), b.probes.size());
  for (std::size_t p = 0; p < a.probes.size(); ++p) {
    EXPECT_EQ(a.probes[p].time, b.probes[p].time);
    EXPECT_EQ(a.probes[p].value, b.probes[p].value);
  }
}

class Resumed : public testing::TestWithParam<Case> {};

TEST_P(Resumed, EndsWithTheBitsOfAnUndisturbedRun)
{
  const postproc::TemporaryFolder folder;
  const RunPlan plan = plan_of(GetParam());
  const postproc::Result alone = run_scenario(plan, options_of(folder / "alone"));

  RunOptions options = options_of(folder / "pieces");
  ASSERT_TRUE(stopped_after(10, plan, options));
  EXPECT_TRUE(fs::exists(folder / "pieces/checkpoint.state"));
  EXPECT_FALSE(fs::exists(folder / "pieces/summary.json"));
  options.resume = true;
  options.threads = 2;
  options.steps_per_pass = 5;
  ASSERT_TRUE(stopped_after(20, plan, options));
  options.threads = 1;
  options.steps_per_pass = 1;
  const postproc::Result pieces = run_scenario(plan, options);
  expect_same(alone, pieces);
  std::vector<std::string> left;
  for (const fs::directory_entry& entry : fs::directory_iterator(options.folder)) {
    left.push_back(entry.path().filename());
  }
  std::ranges::sort(left);
  EXPECT_EQ(left, (std::vector<std::string>{"result.h5", "result.xdmf", "scenario.yaml",
                                            "summary.json"}));
}

INSTANTIATE_TEST_SUITE_P(Cases, Resumed, testing::ValuesIn(cases()),
                         [](const auto& each) { return each.param.name; });

TEST(Checkpoint, OfTheSecondRunKeepsTheFirst)
{
  const postproc::TemporaryFolder folder;
  const RunPlan plan = plan_of(cases().front());
  const RunPlan refined = plan_refined(plan, 0.7);
  RunOptions options = options_of(folder / "alone");
  options.refined = &refined;
  const postproc::Result alone = run_scenario(plan, options);

  options.folder = folder / "pieces";
  const fs::path second = folder / "pieces/checkpoint.refined.state";
  while (!fs::exists(second)) {
    ASSERT_TRUE(stopped_after(60, plan, options));
    options.resume = true;
  }
  expect_same(alone, run_scenario(plan, options));

  // Without its --refine the run would be another one.
  fs::remove_all(options.folder);
  options.resume = false;
  ASSERT_TRUE(stopped_after(2, plan, options));
  options.resume = true;
  options.refined = nullptr;
  EXPECT_THROW(static_cast<void>(run_scenario(plan, options)), scenarios::InputError);
}

/// What a run says that is to go on from the checkpoint in the folder.
[[nodiscard]] std::string refusal(const RunPlan& plan, RunOptions options)
{
  options.resume = true;
  try {
    static_cast<void>(run_scenario(plan, options));
  } catch (const scenarios::InputError& error) {
    return error.what();
  }
  return "";
}

class Refused : public testing::Test {
protected:
  Refused()
  {
    EXPECT_TRUE(stopped_after(6, plan_, options_));
    state_ = content(file_);
    frames_ = content(frames_file_);
  }
  [[nodiscard]] std::string with_state(const std::string& bytes) const
  {
    write(file_, bytes);
    return refusal(plan_, options_);
  }
  [[nodiscard]] std::string with_frames(const std::string& bytes) const
  {
    write(file_, state_);
    write(frames_file_, bytes);
    return refusal(plan_, options_);
  }
  [[nodiscard]] std::string with_byte(std::size_t at) const
  {
    std::string changed = state_;
    changed[at] = static_cast<char>(changed[at] ^ 0x20);
    return with_state(changed);
  }

  postproc::TemporaryFolder folder_;
  RunPlan plan_ = plan_of(cases().front());
  RunOptions options_ = options_of(folder_ / "out");
  fs::path file_ = folder_ / "out/checkpoint.state";
  fs::path frames_file_ = folder_ / "out/checkpoint.frames";
  std::string state_;
  std::string frames_;
};

TEST_F(Refused, WhatIsNotWhole)
{
  for (std::size_t size : {std::size_t{0}, std::size_t{10}, std::size_t{40},
                           std::size_t{400}, state_.size() / 2, state_.size() - 1}) {
    EXPECT_NE(with_state(state_.substr(0, size)).find("is truncated"), std::string::npos)
        << size;
  }
  EXPECT_NE(with_state(state_ + "x").find("is damaged"), std::string::npos);
  EXPECT_NE(with_state("not a checkpoint, but long enough").find("is no checkpoint"),
            std::string::npos);
  EXPECT_NE(with_frames(frames_.substr(0, frames_.size() - 1)).find("is truncated"),
            std::string::npos);
}

TEST_F(Refused, WhatChangedOnDisk)
{
  // The number of the format, and bytes all over the file: names, sizes, numbers, sums.
  EXPECT_NE(with_byte(29).find("another release"), std::string::npos);
  for (std::size_t at = 32; at < state_.size(); at += 1 + state_.size() / 43) {
    EXPECT_NE(with_byte(at), "") << at;
  }
  EXPECT_NE(with_byte(state_.size() - 1).find("is damaged"), std::string::npos);
  std::string frames = frames_;
  frames[frames.size() / 2] = static_cast<char>(frames[frames.size() / 2] ^ 1);
  EXPECT_NE(with_frames(frames).find("is damaged"), std::string::npos);
}

TEST_F(Refused, WhatBelongsToAnother)
{
  EXPECT_NE(refusal(plan_of(cases().front(), "Other"), options_).find("another scenario"),
            std::string::npos);
  RunOptions other = options_;
  if (other.instructions != solver::InstructionSet::baseline) {
    other.instructions = solver::InstructionSet::baseline;
    EXPECT_NE(refusal(plan_, other).find("rounds differently"), std::string::npos);
  }
}

TEST_F(Refused, ButNeitherForgottenUnasked)
{
  EXPECT_THROW(static_cast<void>(run_scenario(plan_, options_)), scenarios::InputError);
  EXPECT_EQ(content(file_), state_);
  options_.force = true;
  static_cast<void>(run_scenario(plan_, options_));
  EXPECT_FALSE(fs::exists(file_));
  EXPECT_FALSE(fs::exists(frames_file_));
}

TEST_F(Refused, UnlessItIsWhole)
{
  // What a crash left behind the last frame that the checkpoint counts on is cut off.
  write(frames_file_, frames_ + std::string(1000, 'x'));
  RunOptions alone = options_of(folder_ / "alone");
  options_.resume = true;
  expect_same(run_scenario(plan_, alone), run_scenario(plan_, options_));
}

// The C library drops what it could not write: later frames do not make a file whole.
TEST(FrameSpool, NeverCallsAFileGoodThatHasLostFrames)
{
  const postproc::TemporaryFolder folder;
  const std::vector<float> frame(1000, 1.0F);
  FrameSpool spool(folder / "frames", frame.size());
  spool.append(0.0, frame);
  spool.sync();
  rlimit before{};
  getrlimit(RLIMIT_FSIZE, &before);
  const auto handler = std::signal(SIGXFSZ, SIG_IGN);
  rlimit full = before;
  full.rlim_cur = 4100;
  setrlimit(RLIMIT_FSIZE, &full);
  EXPECT_THROW(
      {
        spool.append(1.0, frame);
        spool.sync();
      },
      postproc::WriteError);
  setrlimit(RLIMIT_FSIZE, &before);
  std::signal(SIGXFSZ, handler);
  spool.append(2.0, frame);
  EXPECT_THROW(spool.sync(), postproc::WriteError);
}

}  // namespace
}  // namespace torsowave::app
