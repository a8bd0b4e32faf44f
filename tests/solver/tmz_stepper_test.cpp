// The stepper against the textbook way, which is slow and obvious.

#include "solver/tmz_stepper.hpp"

#include <cmath>
#include <cstdint>
#include <string>

#include <gtest/gtest.h>

#include "bench/textbook_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

struct Case {
  int poles;
  InstructionSet instructions;
  int threads;
};

/// Odd sizes, tissue through the absorber, single cells, a conductor and long runs.
struct Scene {
  Grid grid;
  Medium medium;
};

Scene scene(int poles)
{
  Scene s;
  s.grid.raster = {83, 61, 1e-3, {-0.0415, -0.0305}};
  s.grid.time_step = stable_time_step(1e-3, 0.99);
  s.grid.absorbing_cells = 8;
  const std::vector<double> times{8.6e-12, 41e-12, 518e-12, 2.1e-9};
  const std::vector<double> strengths{40.0, 6.0, 9.0, 3.0};
  s.medium.relaxation_times.assign(times.begin(), times.begin() + poles);
  const std::vector<double> part(strengths.begin(), strengths.begin() + poles);
  const std::vector<double> none(part.size(), 0.0);
  s.medium.palette = {{false, 1.0, 0.0, none},
                      {false, 5.0, 0.7, part},
                      {false, 2.5, 0.03, none},
                      {true, 1.0, 0.0, none},
                      {false, 3.0, 0.3, part}};
  s.medium.cells.assign(s.grid.raster.size(), 0);
  for (int j = 0; j < 61; ++j) {
    for (int i = 0; i < 83; ++i) {
      std::uint16_t& cell = s.medium.cells[s.grid.raster.at(i, j)];
      if (j < 25) {
        cell = i % 7 == 0 ? 4 : 1;
      } else if (i > 50 && j < 50) {
        cell = 1;
      } else if (i < 12) {
        cell = 2;
      }
      if (i > 20 && i < 24 && j > 30 && j < 33) {
        cell = 3;
      }
    }
  }
  return s;
}

template <class Real>
double largest_difference(const Case& c, double* scale)
{
  const Scene s = scene(c.poles);
  AbsorberSpec absorber;
  absorber.cells = s.grid.absorbing_cells;
  bench::TextbookStepper<double> oracle(s.grid, s.medium,
                                        absorber_along_x(absorber, s.grid, s.medium),
                                        absorber_along_y(absorber, s.grid, s.medium));
  TmzStepper<Real> stepper(s.grid, s.medium, absorber, {c.threads, c.instructions});
  const Waveform wave = pulse_waveform(3e9, 4e9);
  stepper.add_source({37, 33, wave.current});
  const int steps = 700;
  for (int n = 0; n < steps; ++n) {
    oracle.step(37, 33, wave.current((n + 0.5) * s.grid.time_step));
  }
  stepper.advance(400);
  stepper.advance(steps - 400);
  double worst = 0.0;
  *scale = 0.0;
  const double h_to_e = 376.73;
  for (int j = 0; j < s.grid.raster.ny; ++j) {
    for (int i = 0; i < s.grid.raster.nx; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const double hx =
          static_cast<double>(stepper.x_edge_row(j)[at]) * stepper.edge_scale();
      const double hy =
          static_cast<double>(stepper.y_edge_row(j)[at]) * stepper.edge_scale();
      *scale = std::max(*scale, std::abs(oracle.ez(i, j)));
      worst = std::max(
          {worst,
           std::abs(static_cast<double>(stepper.centre_row(j)[at]) - oracle.ez(i, j)),
           h_to_e * std::abs(hx - oracle.hx(i, j)),
           h_to_e * std::abs(hy - oracle.hy(i, j))});
    }
  }
  return worst;
}

class StepperAgainstTextbook : public testing::TestWithParam<Case> {};

TEST_P(StepperAgainstTextbook, AgreesToRounding)
{
  if (GetParam().instructions > best_instruction_set()) {
    GTEST_SKIP() << "this processor lacks " << name_of(GetParam().instructions);
  }
  double scale = 0.0;
  const double in_double = largest_difference<double>(GetParam(), &scale);
  ASSERT_GT(scale, 1.0);  // the field is still there after 700 steps
  EXPECT_LT(in_double, 2e-11 * scale);
  const double in_single = largest_difference<float>(GetParam(), &scale);
  EXPECT_LT(in_single, 1e-4 * scale);
}

INSTANTIATE_TEST_SUITE_P(
    Kernels, StepperAgainstTextbook,
    testing::Values(
        Case{0, InstructionSet::baseline, 1}, Case{1, InstructionSet::baseline, 2},
        Case{2, InstructionSet::baseline, 1}, Case{3, InstructionSet::baseline, 2},
        Case{4, InstructionSet::baseline, 1}, Case{0, InstructionSet::avx2, 2},
        Case{1, InstructionSet::avx2, 1}, Case{2, InstructionSet::avx2, 2},
        Case{3, InstructionSet::avx2, 1}, Case{4, InstructionSet::avx2, 3},
        Case{0, InstructionSet::avx512, 1}, Case{1, InstructionSet::avx512, 2},
        Case{2, InstructionSet::avx512, 1}, Case{3, InstructionSet::avx512, 2},
        Case{4, InstructionSet::avx512, 5}),
    [](const auto& test) {
      return std::string(name_of(test.param.instructions)) + "_" +
             std::to_string(test.param.poles) + "poles_" +
             std::to_string(test.param.threads) + "threads";
    });

}  // namespace
}  // namespace torsowave::solver
