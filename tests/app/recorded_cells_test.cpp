// Fourier sums are taken where somebody reads them, and powers are the same for it.

#include "app/recorded_cells.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <string>

#include "app/run_scenario.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

RunPlan plan_of(const std::string& mode, const std::string& outputs)
{
  const bool tez = mode == "TEz";
  return plan_run(scenarios::parse_scenario(
      fmt::format(
          "mode: {}\ngrid: {{cell: 2 mm, size: [160 mm, 140 mm], precision: double}}\n"
          "body:\n  shapes:\n"
          "    - {{tissue: muscle, circle: {{center: [10 mm, -6 mm], radius: 30 mm}}}}\n"
          "implant: {{position: [14 mm, 0 mm], source: {}, capsule: {{radius: 8 mm, "
          "material: air}}}}\n"
          "waveform: {{type: pulse, center: 600 MHz, bandwidth: 700 MHz}}\n"
          "frequencies: [500 MHz, 700 MHz]\nduration: 12 ns\noutputs: {}\n",
          mode, tez ? "dipole, direction: 30 deg" : "line_current", outputs),
      "case.yaml"));
}

TEST(RecordedCells, AreTheBodysUnlessFieldsAreAskedFor)
{
  const solver::CellBox body = recorded_cells(plan_of("TMz", "{sectors: 8}"));
  // 60 mm of muscle touch 31 cells of 2 mm, since the source has the middle of a cell;
  // they begin 60 mm from the left and 34 mm from below. Sectors look 11 cells beyond,
  // and one more is needed for E.
  EXPECT_EQ(body.first_i, 30 - 12);
  EXPECT_EQ(body.last_i, 60 + 12);
  EXPECT_EQ(body.first_j, 17 - 12);
  EXPECT_EQ(body.last_j, 47 + 12);
  const solver::CellBox whole = recorded_cells(plan_of("TMz", "{phasors: [Ez]}"));
  EXPECT_EQ(whole.first_i, 0);
  EXPECT_EQ(whole.last_i, 79);
  EXPECT_EQ(whole.last_j, 69);
  EXPECT_EQ(recorded_cells(plan_of("TMz", "{images: {quantity: sar}}")).last_i, 79);
  EXPECT_EQ(recorded_cells(plan_of("TMz", "{images: {quantity: tissue}}")).last_i, 72);
}

class PowersOf : public testing::TestWithParam<const char*> {};

TEST_P(PowersOf, DoNotDependOnThem)
{
  const std::string mode = GetParam();
  const RunPlan part = plan_of(mode, "{sectors: 8}");
  const RunPlan whole = plan_of(mode, mode == "TEz" ? "{sectors: 8, phasors: [Hz]}"
                                                    : "{sectors: 8, phasors: [Ez]}");
  const postproc::Result a = run_in_memory(part, {});
  const postproc::Result b = run_in_memory(whole, {});
  for (std::size_t f = 0; f < 2; ++f) {
    EXPECT_GT(b.frequencies[f].source_power, 0.0);
    EXPECT_EQ(a.frequencies[f].source_power, b.frequencies[f].source_power);
    EXPECT_EQ(a.frequencies[f].absorbed_power, b.frequencies[f].absorbed_power);
    EXPECT_EQ(a.frequencies[f].absorbed_by_tissue, b.frequencies[f].absorbed_by_tissue);
    EXPECT_EQ(a.frequencies[f].radiated_power, b.frequencies[f].radiated_power);
    EXPECT_EQ(a.frequencies[f].sector_power, b.frequencies[f].sector_power);
  }
}

INSTANTIATE_TEST_SUITE_P(Modes, PowersOf, testing::Values("TMz", "TEz"));

}  // namespace
}  // namespace torsowave::app
