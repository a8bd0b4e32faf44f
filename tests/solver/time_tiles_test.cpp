// Tiles change nothing: any pass length and any number of threads give the bits of the
// plain sweep on one thread.

#include <algorithm>
#include <cmath>
#include <cstring>
#include <vector>

#include <gtest/gtest.h>

#include "solver/illumination.hpp"
#include "solver/pass_length.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_scenes.hpp"

namespace torsowave::solver {
namespace {

/// All fields, row by row.
template <class Real>
std::vector<Real> fields_of(const YeeStepper<Real>& stepper)
{
  std::vector<Real> fields;
  const auto append = [&fields](std::span<const Real> row) {
    fields.insert(fields.end(), row.begin(), row.end());
  };
  const int ny = stepper.grid().raster.ny;
  for (int j = 0; j < ny; ++j) {
    append(stepper.centre_row(j));
    append(stepper.x_edge_row(j));
    append(stepper.y_edge_row(j));
  }
  append(stepper.x_edge_row(ny));
  return fields;
}

/// Calls of every length: shorter than a pass, not a multiple of it, many passes.
template <class Real>
std::vector<Real> stepped(YeeStepper<Real>& stepper)
{
  for (const int steps : {1, 50, 17, 64, 3}) {
    stepper.advance(steps);
  }
  return fields_of(stepper);
}

/// Rows in and beside those where bands of 2, 3 and 5 threads meet.
std::vector<int> rows_at_bands(int ny)
{
  std::vector<int> rows;
  for (const int bands : {2, 3, 5}) {
    for (int b = 1; b < bands; ++b) {
      const int row = ny * b / bands;
      rows.insert(rows.end(), {row - 1, row, row + 4});
    }
  }
  return rows;
}

struct Size {
  int nx;
  int ny;
};

template <class Real>
std::vector<Real> tmz_fields(int poles, Size size, const StepperOptions& options)
{
  const scenes::Scene scene = scenes::layered(size.nx, size.ny, 7, poles);
  TmzStepper<Real> stepper = scene.stepper<Real>(options);
  const Waveform wave = pulse_waveform(4e9, 5e9);
  int column = 9;
  for (const int row : rows_at_bands(size.ny)) {
    stepper.add_source({column++, row, wave.current});
  }
  return stepped(stepper);
}

template <class Real>
std::vector<Real> tez_fields(int poles, Size size, const StepperOptions& options)
{
  const scenes::TezScene scene =
      scenes::round_body(size.nx, size.ny, 1e-3, 7, scenes::times(poles));
  TezStepper<Real> stepper = scene.stepper<Real>(options);
  const Waveform wave = pulse_waveform(4e9, 5e9);
  int column = 3;  // left of the body: no dipole meets an interface
  for (const int row : rows_at_bands(size.ny)) {
    stepper.add_source(MagneticLine{column, row, wave.current});
    stepper.add_source(LineDipole{column + 1, row, 0.7, wave.current});
    column = column == 3 ? 5 : 3;
  }
  return stepped(stepper);
}

template <class Real>
std::vector<Real> line_fields(int poles, Size size, const StepperOptions& options)
{
  scenes::Scene scene = scenes::layered(size.nx, 1, 7, poles);
  scene.grid.time_step = stable_time_step(1e-3, 0.99, 1);
  TmzStepper<Real> stepper = scene.stepper<Real>(options);
  stepper.add_source({size.nx / 2, 0, pulse_waveform(4e9, 5e9).current});
  return stepped(stepper);
}

template <class Real>
bool same_bits(const std::vector<Real>& a, const std::vector<Real>& b)
{
  return a.size() == b.size() &&
         std::memcmp(a.data(), b.data(), a.size() * sizeof(Real)) == 0;
}

template <class Real>
using FieldsOf = std::vector<Real> (*)(int, Size, const StepperOptions&);

/// Every combination against the plain sweep; returns how many there were.
template <class Real>
int expect_same_bits(FieldsOf<Real> fields, int poles, const std::vector<int>& threads)
{
  int combinations = 0;
  for (const Size size : {Size{83, 61}, Size{64, 47}}) {
    const StepperOptions plain{1, best_instruction_set(), 1};
    const std::vector<Real> reference = fields(poles, size, plain);
    EXPECT_NE(reference, std::vector<Real>(reference.size())) << "nothing happened";
    for (const int steps : {1, 2, 5, 23, 0}) {
      for (const int team : threads) {
        const StepperOptions options{team, best_instruction_set(), steps};
        EXPECT_TRUE(same_bits(fields(poles, size, options), reference))
            << size.nx << " x " << size.ny << ", " << steps << " steps a pass, " << team
            << " threads";
        ++combinations;
      }
    }
  }
  return combinations;
}

class TilesOf : public testing::TestWithParam<int> {};

TEST_P(TilesOf, TmzAreThePlainSweep)
{
  EXPECT_EQ(expect_same_bits<float>(tmz_fields<float>, GetParam(), {1, 2, 5}), 30);
}

TEST_P(TilesOf, TezAreThePlainSweep)
{
  EXPECT_EQ(expect_same_bits<float>(tez_fields<float>, GetParam(), {1, 2, 5}), 30);
}

TEST_P(TilesOf, DoubleAreThePlainSweep)
{
  EXPECT_EQ(expect_same_bits<double>(tmz_fields<double>, GetParam(), {3}), 10);
  EXPECT_EQ(expect_same_bits<double>(tez_fields<double>, GetParam(), {3}), 10);
}

TEST_P(TilesOf, OneRowIsThePlainSweep)
{
  EXPECT_EQ(expect_same_bits<float>(line_fields<float>, GetParam(), {1, 2}), 20);
}

INSTANTIATE_TEST_SUITE_P(Poles, TilesOf, testing::Values(0, 2, 3, 4));

TEST(Tiles, TakeAPlaneWaveAsThePlainSweepDoes)
{
  const scenes::Scene scene = illumination::empty();
  const auto fields = [&](const StepperOptions& options) {
    TmzStepper<float> stepper = scene.stepper<float>(options);
    stepper.add_injection(illumination::wave(scene.grid, Polarisation::tmz, 0.4,
                                             illumination::pulse().current));
    return stepped(stepper);
  };
  const std::vector<float> reference = fields({1, best_instruction_set(), 1});
  for (const int steps : {3, 8, 24}) {
    for (const int team : {1, 2, 3}) {
      EXPECT_TRUE(same_bits(fields({team, best_instruction_set(), steps}), reference))
          << steps << " steps a pass, " << team << " threads";
    }
  }
}

TEST(Tiles, EveryInstructionSetKeepsItsOwnBits)
{
  for (const InstructionSet set :
       {InstructionSet::baseline, InstructionSet::avx2, InstructionSet::avx512}) {
    if (set > best_instruction_set()) {
      continue;
    }
    EXPECT_TRUE(same_bits(tmz_fields<float>(3, {97, 61}, {1, set, 1}),
                          tmz_fields<float>(3, {97, 61}, {3, set, 8})))
        << name_of(set);
    EXPECT_TRUE(same_bits(tez_fields<float>(3, {97, 61}, {1, set, 1}),
                          tez_fields<float>(3, {97, 61}, {3, set, 8})))
        << name_of(set);
  }
}

TEST(Tiles, ObserversChangeNothing)
{
  const scenes::Scene scene = scenes::layered(83, 61, 7, 3);
  const auto fields = [&](bool observed) {
    TmzStepper<float> stepper = scene.stepper<float>({.threads = 2});
    stepper.add_source({30, 20, pulse_waveform(4e9, 5e9).current});
    PhasorRecorder sums(scene.grid, {3e9, 5e9});
    double energy = 0.0;
    for (int n = 0; n < 27; ++n) {
      stepper.advance(5);
      if (observed) {
        sums.sample(stepper);
        energy += stepper.energy();
      }
    }
    EXPECT_EQ(energy > 0.0, observed);
    return fields_of(stepper);
  };
  const std::vector<float> alone = fields(false);
  EXPECT_NE(alone, std::vector<float>(alone.size()));
  EXPECT_TRUE(same_bits(alone, fields(true)));
}

/// Largest difference of two sets of fields over the largest of them.
double difference_of(const std::vector<float>& a, const std::vector<float>& b)
{
  double largest = 0.0;
  double difference = 0.0;
  for (std::size_t n = 0; n < a.size(); ++n) {
    const auto one = static_cast<double>(a[n]);
    largest = std::max(largest, std::abs(one));
    difference = std::max(difference, std::abs(one - static_cast<double>(b[n])));
  }
  return difference / largest;
}

/// Products fused with sums round once in place of twice: half a unit in the last place,
/// 6e-8, in each of some dozen operations of a step. Rounding errors add up like a random
/// walk: over the 135 steps here to some units in the last place.
TEST(Tiles, InstructionSetsDifferByRoundingAloneInSinglePrecision)
{
  for (const int poles : {0, 3}) {
    for (const FieldsOf<float> fields : {&tmz_fields<float>, &tez_fields<float>}) {
      const std::vector<float> plain =
          fields(poles, {97, 61}, {1, InstructionSet::baseline, 1});
      for (const InstructionSet set : {InstructionSet::avx2, InstructionSet::avx512}) {
        if (set <= best_instruction_set()) {
          EXPECT_LT(difference_of(plain, fields(poles, {97, 61}, {1, set, 1})), 2e-6)
              << name_of(set) << ", " << poles << " poles";
        }
      }
    }
  }
}

TEST(PassLength, FitsTheCacheAndHasBounds)
{
  const std::size_t cache = level2_cache_bytes();
  ASSERT_GE(cache, 128U * 1024U);
  EXPECT_GE(steps_per_pass(1), steps_per_pass(cache / 20));
  EXPECT_GE(steps_per_pass(cache / 20), steps_per_pass(cache));
  EXPECT_GT(steps_per_pass(10 * cache), 1);
}

}  // namespace
}  // namespace torsowave::solver
