#include "solver/tez_stepper.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_scenes.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

Waveform pulse()
{
  return pulse_waveform(2.45e9, 2e9);
}

template <class Real>
std::vector<Real> all_fields(const YeeStepper<Real>& stepper)
{
  std::vector<Real> values;
  const auto append = [&](std::span<const Real> row) {
    values.insert(values.end(), row.begin(), row.end());
  };
  for (int j = 0; j < stepper.grid().raster.ny; ++j) {
    append(stepper.centre_row(j));
    append(stepper.x_edge_row(j));
    append(stepper.y_edge_row(j));
  }
  append(stepper.x_edge_row(stepper.grid().raster.ny));
  return values;
}

/// In vacuum both polarisations are one scheme: h of TEz is ez of TMz, ex = -Cb hx.
TEST(TezStepper, IsTheDualOfTmzInVacuum)
{
  Grid grid;
  grid.raster = {70, 60, 1e-3, {-0.035, -0.03}};
  grid.time_step = stable_time_step(1e-3, 0.99);
  grid.absorbing_cells = 10;
  const AbsorberSpec absorber{10};
  const MediumEntry air{false, 1.0, 0.0, {}};
  const Medium medium{{}, {air}, std::vector<std::uint16_t>(std::size_t{70} * 60, 0)};
  TezMedium tez;
  tez.palette = {air};
  tez.x_edges.assign(std::size_t{70} * 61, 0);
  tez.y_edges.assign(std::size_t{71} * 60, 0);
  TmzStepper<double> electric(grid, medium, absorber, {});
  TezStepper<double> magnetic(grid, tez, absorber, {});
  const Waveform waveform = pulse();
  electric.add_source(LineCurrent{30, 25, waveform.current});
  // 1 A adds -dt/(eps0 dx^2) to ez, 1 V adds -1/dx to h.
  const double ratio =
      grid.time_step / (materials::vacuum_permittivity * grid.raster.cell);
  magnetic.add_source(
      MagneticLine{30, 25, [&](double t) { return ratio * waveform.current(t); }});
  electric.advance(700);
  magnetic.advance(700);
  double largest = 0.0;
  double difference = 0.0;
  for (int j = 0; j < 60; ++j) {
    for (std::size_t i = 0; i < 70; ++i) {
      largest = std::max(largest, std::abs(electric.centre_row(j)[i]));
      difference = std::max(
          difference, std::abs(electric.centre_row(j)[i] - magnetic.centre_row(j)[i]));
    }
  }
  EXPECT_GT(largest, 0.0);
  EXPECT_LT(difference, 1e-12 * largest);
}

TEST(TezStepper, ThreadsDoNotChangeABit)
{
  const scenes::TezScene scene = scenes::round_body(83, 71, 1e-3, 8, scenes::times(3));
  ASSERT_GT(scene.medium.nodes.size(), 100U);
  std::vector<float> reference;
  for (const int threads : {1, 2, 3, 5}) {
    StepperOptions options;
    options.threads = threads;
    TezStepper<float> stepper = scene.stepper<float>(options);
    stepper.add_source(MagneticLine{44, 33, pulse().current});
    stepper.advance(400);
    const std::vector<float> fields = all_fields(stepper);
    if (threads == 1) {
      reference = fields;
    }
    EXPECT_EQ(fields, reference) << threads;
  }
  EXPECT_GT(*std::ranges::max_element(reference), 0.0F);
}

TEST(TezStepper, InstructionSetsDifferByRoundingAlone)
{
  for (const int poles : {0, 1, 2, 4}) {
    const scenes::TezScene scene =
        scenes::round_body(83, 71, 1e-3, 8, scenes::times(poles));
    std::vector<double> reference;
    for (int set = 0; set <= static_cast<int>(best_instruction_set()); ++set) {
      StepperOptions options;
      options.instructions = static_cast<InstructionSet>(set);
      TezStepper<double> stepper = scene.stepper<double>(options);
      stepper.add_source(MagneticLine{44, 33, pulse().current});
      stepper.advance(500);
      const std::vector<double> fields = all_fields(stepper);
      if (set == 0) {
        reference = fields;
      }
      double largest = 0.0;
      double difference = 0.0;
      for (std::size_t p = 0; p < fields.size(); ++p) {
        largest = std::max(largest, std::abs(reference[p]));
        difference = std::max(difference, std::abs(fields[p] - reference[p]));
      }
      EXPECT_LT(difference, 1e-11 * largest) << poles << " poles, set " << set;
    }
  }
}

/// Passive parts and a positive form at every node: the energy can only fall once the
/// source is silent, at contrasts of 1 : 53 too.
TEST(TezStepper, EnergyFallsAtTensorsOfHighContrast)
{
  for (const int poles : {0, 3}) {
    const scenes::TezScene scene =
        scenes::round_body(64, 64, 1e-3, 8, scenes::times(poles));
    TezStepper<double> stepper = scene.stepper<double>();
    const Waveform waveform = pulse();
    stepper.add_source(MagneticLine{36, 30, waveform.current});
    stepper.advance(static_cast<int>(waveform.end / scene.grid.time_step) + 1);
    const double start = stepper.energy();
    ASSERT_GT(start, 0.0);
    double before = start;
    for (int n = 0; n < 10; ++n) {
      stepper.advance(2000);
      const double now = stepper.energy();
      EXPECT_LT(now, before) << poles << " poles after " << stepper.step();
      before = now;
    }
    EXPECT_LT(before, 1e-6 * start);
  }
}

/// In single precision rounding leaves charges in the air, which nothing discharges: they
/// stay where they are, far below the peak.
TEST(TezStepper, RoundingLeavesNothingThatGrowsInSinglePrecision)
{
  const scenes::TezScene scene = scenes::round_body(64, 64, 1e-3, 8, scenes::times(3));
  TezStepper<float> stepper = scene.stepper<float>();
  stepper.add_source(MagneticLine{36, 30, pulse().current});
  double peak = 0.0;
  for (int n = 0; n < 30; ++n) {
    stepper.advance(100);
    peak = std::max(peak, stepper.energy());
  }
  for (int n = 0; n < 10; ++n) {
    stepper.advance(4000);
    EXPECT_LT(stepper.energy(), 1e-11 * peak) << stepper.step();
  }
}

/// Hz at b for a magnetic line at a is Hz at a for one at b, exactly: the tensors' form
/// is symmetric. (H. A. Lorentz's reciprocity; R. F. Harrington, *Time-Harmonic
/// Electromagnetic Fields*, 1961, sec. 3-8, from memory.)
TEST(TezStepper, SourceAndProbeMayChangePlaces)
{
  const scenes::TezScene scene = scenes::round_body(83, 71, 1e-3, 8, scenes::times(3));
  const auto trace = [&](int from_i, int from_j, int to_i, int to_j) {
    TezStepper<float> stepper = scene.stepper<float>();
    stepper.add_source(MagneticLine{from_i, from_j, pulse().current});
    std::vector<double> values;
    for (int n = 0; n < 1500; ++n) {
      stepper.advance(1);
      values.push_back(stepper.centre_row(to_j)[static_cast<std::size_t>(to_i)]);
    }
    return values;
  };
  const std::vector<double> there = trace(45, 30, 66, 52);
  const std::vector<double> back = trace(66, 52, 45, 30);
  double largest = 0.0;
  double difference = 0.0;
  for (std::size_t n = 0; n < there.size(); ++n) {
    largest = std::max(largest, std::abs(there[n]));
    difference = std::max(difference, std::abs(there[n] - back[n]));
  }
  EXPECT_GT(largest, 0.0);
  EXPECT_LT(difference, 1e-5 * largest);
}

TEST(TezStepper, RefusesSourcesOutsideAndOnInterfaces)
{
  const scenes::TezScene scene = scenes::round_body(64, 64, 1e-3, 8, scenes::times(2));
  TezStepper<float> stepper = scene.stepper<float>();
  const Waveform waveform = pulse();
  EXPECT_THROW(stepper.add_source(MagneticLine{64, 3, waveform.current}),
               std::invalid_argument);
  EXPECT_THROW(stepper.add_source(LineDipole{-1, 3, 0.0, waveform.current}),
               std::invalid_argument);
  const TensorEdge& edge = scene.medium.x_tensor_edges.front();
  EXPECT_THROW(stepper.add_source(LineDipole{edge.i, edge.j, 0.0, waveform.current}),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
