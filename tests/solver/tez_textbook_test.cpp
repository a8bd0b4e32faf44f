// The TEz stepper against the textbook way, which is slow and obvious.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "bench/textbook_tez_stepper.hpp"
#include "materials/constants.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

/// Adds to stretches of all three fields, some in tissue and some in the absorber.
class Everywhere final : public Injection {
public:
  explicit Everywhere(double dt) : dt_(dt) {}
  [[nodiscard]] const std::vector<InjectionSpan>& spans() const noexcept override
  {
    return spans_;
  }
  void amounts(long step, std::span<double> values) override
  {
    const double wave = waveform_.current((static_cast<double>(step) + 0.5) * dt_);
    for (std::size_t p = 0; p < values.size(); ++p) {
      values[p] = wave * std::cos(1.7 * static_cast<double>(p));
    }
  }

private:
  double dt_;
  Waveform waveform_ = pulse_waveform(8e9, 10e9);
  std::vector<InjectionSpan> spans_{{Site::centre, 20, 17, 5}, {Site::x_edge, 0, 40, 3},
                                    {Site::x_edge, 31, 22, 9}, {Site::y_edge, 12, 5, 4},
                                    {Site::y_edge, 40, 30, 2}, {Site::centre, 44, 60, 1}};
};

struct Case {
  int poles;
  InstructionSet instructions;
  int threads;
};

/// Odd sizes, tissue through the absorber, single edges, a conductor and long runs.
struct TezOnEdges {
  Grid grid;
  TezMedium medium;
  AbsorberSpec absorber;
};

std::uint16_t entry_at(int i, int j)
{
  if (i > 20 && i < 24 && j > 33 && j < 37) {
    return 3;
  }
  if (j < 25) {
    return i % 7 == 0 ? 2 : 1;
  }
  if (i > 50 && j < 48) {
    return 1;
  }
  return i < 12 ? 2 : 0;
}

TezOnEdges scene(int poles)
{
  TezOnEdges s;
  s.grid.raster = {83, 61, 1e-3, {-0.0415, -0.0305}};
  s.grid.time_step = stable_time_step(1e-3, 0.99);
  s.grid.absorbing_cells = 8;
  s.absorber.cells = 8;
  MediumEntry metal = scenes::air(poles);
  metal.conductor = true;
  s.medium.relaxation_times = scenes::times(poles);
  s.medium.palette = {scenes::air(poles), scenes::wet(poles), scenes::fatty(poles),
                      metal};
  for (int j = 0; j < 62; ++j) {
    for (int i = 0; i < 84; ++i) {
      if (i < 83) {
        s.medium.x_edges.push_back(entry_at(i, j));
      }
      if (i < 83) {
        // In the absorber nothing is averaged; elsewhere long stretches are, and some
        // pairs left out.
        const auto& edges = s.medium.x_edges;
        const bool inside = j > 8 && j < 53 && i > 0 && (i + j) % 37 != 0;
        s.medium.x_averaged.push_back(
            inside && edges.back() == edges[edges.size() - 2] ? 1 : 0);
      }
      if (j < 61) {
        s.medium.y_edges.push_back(entry_at(i, j));
      }
    }
  }
  return s;
}

bench::TextbookTezStepper oracle(const TezOnEdges& s)
{
  // The absorber is graded by the medium of the edges below the cells.
  EXPECT_GT(std::ranges::count(s.medium.x_averaged, 1), 2000);
  const Medium cells{
      s.medium.relaxation_times,
      s.medium.palette,
      {s.medium.x_edges.begin(),
       s.medium.x_edges.begin() + static_cast<std::ptrdiff_t>(s.grid.raster.size())}};
  return {s.grid, s.medium, absorber_along_x(s.absorber, s.grid, cells),
          absorber_along_y(s.absorber, s.grid, cells)};
}

template <class Real>
double largest_difference(const Case& c, double* scale)
{
  const TezOnEdges s = scene(c.poles);
  bench::TextbookTezStepper textbook = oracle(s);
  TezStepper<Real> stepper(s.grid, s.medium, s.absorber, {c.threads, c.instructions});
  textbook.add_injection(std::make_shared<Everywhere>(s.grid.time_step));
  stepper.add_injection(std::make_shared<Everywhere>(s.grid.time_step));
  for (int n = 0; n < 300; ++n) {
    textbook.step();
  }
  stepper.advance(170);
  stepper.advance(130);
  double worst = 0.0;
  *scale = 0.0;
  for (int j = 0; j < s.grid.raster.ny; ++j) {
    for (int i = 0; i < s.grid.raster.nx; ++i) {
      const auto at = static_cast<std::size_t>(i);
      const double hz = double{stepper.centre_row(j)[at]} * stepper.centre_scale();
      *scale = std::max(*scale, std::abs(textbook.ex(i, j)));
      worst = std::max({worst,
                        std::abs(double{stepper.x_edge_row(j)[at]} - textbook.ex(i, j)),
                        std::abs(double{stepper.y_edge_row(j)[at]} - textbook.ey(i, j)),
                        materials::vacuum_impedance * std::abs(hz - textbook.hz(i, j))});
    }
  }
  return worst;
}

class TezAgainstTextbook : public testing::TestWithParam<Case> {};

TEST_P(TezAgainstTextbook, AgreesToRounding)
{
  if (GetParam().instructions > best_instruction_set()) {
    GTEST_SKIP() << "this processor lacks " << name_of(GetParam().instructions);
  }
  double scale = 0.0;
  const double in_double = largest_difference<double>(GetParam(), &scale);
  ASSERT_GT(scale, 1e-3);  // the field is still there after 300 steps
  EXPECT_LT(in_double, 2e-11 * scale);
  const double in_single = largest_difference<float>(GetParam(), &scale);
  EXPECT_LT(in_single, 2e-4 * scale);
  RecordProperty("double", std::to_string(1e15 * in_double / scale) + "e-15");
  RecordProperty("single", std::to_string(1e6 * in_single / scale) + "e-6");
}

INSTANTIATE_TEST_SUITE_P(Kernels, TezAgainstTextbook,
                         testing::Values(Case{0, InstructionSet::baseline, 1},

                                         Case{2, InstructionSet::avx2, 1},
                                         Case{3, InstructionSet::avx2, 2},
                                         Case{4, InstructionSet::baseline, 3},
                                         Case{0, InstructionSet::avx512, 1},
                                         Case{1, InstructionSet::avx2, 1},
                                         Case{4, InstructionSet::avx512, 2}),
                         [](const auto& test) {
                           return std::string(name_of(test.param.instructions)) + "_" +
                                  std::to_string(test.param.poles) + "poles_" +
                                  std::to_string(test.param.threads) + "threads";
                         });

}  // namespace
}  // namespace torsowave::solver
