// What must hold for any field: the same bits for any number of threads, energy,
// reciprocity, mirror symmetry.

#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

/// Ez, Hx and Hy, row by row.
template <class Real>
std::vector<Real> fields(const TmzStepper<Real>& stepper)
{
  std::vector<Real> all;
  const auto add = [&](std::span<const Real> row) {
    all.insert(all.end(), row.begin(), row.end());
  };
  for (int j = 0; j < stepper.grid().raster.ny; ++j) {
    add(stepper.centre_row(j));
    add(stepper.x_edge_row(j));
    add(stepper.y_edge_row(j));
  }
  add(stepper.x_edge_row(stepper.grid().raster.ny));
  return all;
}

template <class Real>
std::vector<Real> fields_after(const scenes::Scene& scene, const StepperOptions& options)
{
  TmzStepper<Real> stepper = scene.stepper<Real>(options);
  const Waveform wave = pulse_waveform(30e9, 40e9);
  stepper.add_source({41, 30, wave.current});
  stepper.add_source({22, 19, [=](double t) { return -0.3 * wave.current(0.8 * t); }});
  stepper.advance(30);
  stepper.advance(60);
  return fields(stepper);
}

template <class Real>
void expect_same_bits()
{
  const scenes::Scene scene = scenes::layered(83, 61, 9, 3);
  for (const InstructionSet set :
       {InstructionSet::baseline, InstructionSet::avx2, InstructionSet::avx512}) {
    if (set > best_instruction_set()) {
      continue;
    }
    const std::vector<Real> one = fields_after<Real>(scene, {1, set});
    ASSERT_GT(*std::max_element(one.begin(), one.end()), Real(1));
    for (const int threads : {2, 3}) {
      EXPECT_EQ(one, fields_after<Real>(scene, {threads, set}))
          << name_of(set) << " " << threads;
    }
  }
}

TEST(StepperThreads, DoNotChangeABit)
{
  expect_same_bits<float>();
  expect_same_bits<double>();
}

/// Twice the magnetic energy that goes with a stored H and another of the next half step:
/// sum of mu0 H H' dx^2 [J/m].
double magnetic_product(const TmzStepper<double>& stepper, const std::vector<double>& h,
                        const std::vector<double>& next)
{
  double sum = 0.0;
  for (std::size_t p = 0; p < h.size(); ++p) {
    sum += h[p] * next[p];
  }
  return sum * materials::vacuum_permeability * std::pow(stepper.edge_scale(), 2) *
         std::pow(stepper.grid().raster.cell, 2);
}

std::vector<double> magnetic_field(const TmzStepper<double>& stepper)
{
  std::vector<double> all;
  for (int j = 0; j <= stepper.grid().raster.ny; ++j) {
    const auto hx = stepper.x_edge_row(j);
    all.insert(all.end(), hx.begin(), hx.end());
    if (j < stepper.grid().raster.ny) {
      const auto hy = stepper.y_edge_row(j);
      all.insert(all.end(), hy.begin(), hy.end());
    }
  }
  return all;
}

/// The energy that the leapfrog conserves: energy() with H^(n-1/2) H^(n+1/2) in place of
/// (H^(n-1/2))^2. Multiply the update of E by the mean of both its E, and that of H by
/// the mean of both its H, and add: without loss the sum does not change; with loss it
/// falls by sigma E^2 and delta tau (dQ/dt)^2.
std::vector<double> leapfrog_energies(const scenes::Scene& scene, int steps)
{
  TmzStepper<double> stepper = scene.stepper<double>();
  const Waveform wave = pulse_waveform(3e9, 4e9);
  stepper.add_source({17, 12, wave.current});
  stepper.advance(static_cast<int>(wave.end / scene.grid.time_step) + 1);
  std::vector<double> energies;
  for (int n = 0; n < steps; ++n) {
    const std::vector<double> before = magnetic_field(stepper);
    const double stored = stepper.energy();
    stepper.advance(1);
    energies.push_back(stored +
                       0.5 * magnetic_product(stepper, before, magnetic_field(stepper)) -
                       0.5 * magnetic_product(stepper, before, before));
  }
  return energies;
}

TEST(StepperEnergy, StaysInAClosedBoxWithoutLoss)
{
  scenes::Scene scene =
      scenes::uniform(40, 33, 0, {}, {scenes::air(0), {false, 7.5, 0.0, {}}});
  for (int j = 5; j < 20; ++j) {
    std::fill_n(&scene.cell(9, j), 17, std::uint16_t{1});
  }
  const std::vector<double> energies = leapfrog_energies(scene, 3000);
  ASSERT_GT(energies.front(), 0.0);
  for (const double energy : energies) {
    ASSERT_NEAR(energy / energies.front(), 1.0, 1e-12);
  }
}

TEST(StepperEnergy, OnlyFallsOnceTheSourceIsDone)
{
  const scenes::Scene scene = scenes::layered(40, 33, 0, 4);
  const std::vector<double> energies = leapfrog_energies(scene, 3000);
  for (std::size_t n = 1; n < energies.size(); ++n) {
    ASSERT_LE(energies[n], energies[n - 1] + 1e-15 * energies.front()) << n;
  }
  EXPECT_LT(energies.back(), 1e-2 * energies.front());
}

std::vector<double> response(const scenes::Scene& scene, int from_i, int from_j, int to_i,
                             int to_j)
{
  TmzStepper<double> stepper = scene.stepper<double>();
  stepper.add_source({from_i, from_j, pulse_waveform(3e9, 4e9).current});
  std::vector<double> ez;
  for (int n = 0; n < 1500; ++n) {
    stepper.advance(1);
    ez.push_back(stepper.centre_row(to_j)[static_cast<std::size_t>(to_i)]);
  }
  return ez;
}

TEST(StepperReciprocity, SourceAndProbeMayChangePlaces)
{
  // Any two cells outside the absorber, which itself is reciprocal: its stretches are
  // functions of one coordinate each.
  const scenes::Scene scene = scenes::layered(70, 58, 12, 3);
  const std::vector<double> there = response(scene, 15, 14, 51, 40);
  const std::vector<double> back = response(scene, 51, 40, 15, 14);
  ASSERT_FALSE(scene.entry(15, 14).eps_inf == scene.entry(51, 40).eps_inf);
  double largest = 0.0;
  double worst = 0.0;
  for (std::size_t n = 0; n < there.size(); ++n) {
    largest = std::max(largest, std::abs(there[n]));
    worst = std::max(worst, std::abs(there[n] - back[n]));
  }
  ASSERT_GT(largest, 0.1);
  EXPECT_LT(worst, 1e-12 * largest);
}

/// A scene that is its own mirror image about both axes, source in the middle.
scenes::Scene symmetric(int n, int absorbing_cells)
{
  scenes::Scene scene =
      scenes::uniform(n, n, absorbing_cells, scenes::times(3),
                      {scenes::air(3), scenes::wet(3), scenes::fatty(3)});
  std::mt19937 engine(3);
  for (int j = 0; j <= n / 2; ++j) {
    for (int i = 0; i <= j; ++i) {
      const auto entry = static_cast<std::uint16_t>(engine() % 3);
      for (const int a : {i, n - 1 - i}) {
        for (const int b : {j, n - 1 - j}) {
          scene.cell(a, b) = scene.cell(b, a) = entry;
        }
      }
    }
  }
  return scene;
}

template <class Real>
TmzStepper<Real> run_symmetric(const scenes::Scene& scene, InstructionSet set)
{
  TmzStepper<Real> stepper = scene.stepper<Real>({1, set});
  const int middle = scene.grid.raster.nx / 2;
  stepper.add_source({middle, middle, pulse_waveform(3e9, 4e9).current});
  stepper.advance(900);
  return stepper;
}

template <class Real>
void expect_mirrored_bits(const scenes::Scene& scene, InstructionSet set)
{
  const TmzStepper<Real> stepper = run_symmetric<Real>(scene, set);
  const int n = scene.grid.raster.nx;
  for (int j = 0; j < n; ++j) {
    const auto row = stepper.centre_row(j);
    const auto image = stepper.centre_row(n - 1 - j);
    for (int i = 0; i < n; ++i) {
      const auto at = static_cast<std::size_t>(i);
      ASSERT_EQ(row[at], row[static_cast<std::size_t>(n - 1 - i)])
          << name_of(set) << " " << i << " " << j;
      ASSERT_EQ(row[at], image[at]) << name_of(set) << " " << i << " " << j;
    }
  }
}

TEST(TmzSymmetry, MirrorImagesAgreeToTheLastBit)
{
  // Both differences of a curl change sign in the mirror, and a - b = (-b) - (-a).
  for (const InstructionSet set :
       {InstructionSet::baseline, InstructionSet::avx2, InstructionSet::avx512}) {
    if (set <= best_instruction_set()) {
      expect_mirrored_bits<float>(symmetric(67, 9), set);
      expect_mirrored_bits<double>(symmetric(67, 9), set);
    }
  }
}

/// Largest |Ez(i, j) - Ez(j, i)| against the largest |Ez|.
double transposition_error(const scenes::Scene& scene)
{
  const TmzStepper<double> stepper = run_symmetric<double>(scene, best_instruction_set());
  double worst = 0.0;
  double largest = 0.0;
  for (int j = 0; j < scene.grid.raster.ny; ++j) {
    for (int i = 0; i < scene.grid.raster.nx; ++i) {
      const double here = stepper.centre_row(j)[static_cast<std::size_t>(i)];
      const double there = stepper.centre_row(i)[static_cast<std::size_t>(j)];
      largest = std::max(largest, std::abs(here));
      worst = std::max(worst, std::abs(here - there));
    }
  }
  return worst / largest;
}

TEST(TmzSymmetry, XAndYMayChangePlaces)
{
  EXPECT_EQ(transposition_error(symmetric(67, 0)), 0.0);
  // In the absorber the part along x is added before the part along y: rounding differs,
  // by about 1e-16 in each of 900 steps.
  EXPECT_LT(transposition_error(symmetric(67, 9)), 1e-12);
}

TEST(TmzStepper, RefusesWhatItCannotRun)
{
  scenes::Scene scene = scenes::layered(40, 33, 5, 2);
  TmzStepper<float> stepper = scene.stepper<float>();
  const auto nothing = [](double) { return 0.0; };
  EXPECT_THROW(stepper.add_source({40, 3, nothing}), std::invalid_argument);
  EXPECT_THROW(stepper.add_source({3, -1, nothing}), std::invalid_argument);
  scene.medium.palette[0].conductor = true;
  scene.cell(20, 30) = 0;
  TmzStepper<float> with_metal = scene.stepper<float>();
  EXPECT_THROW(with_metal.add_source({20, 30, nothing}), std::invalid_argument);

  scenes::Scene thick = scenes::layered(40, 33, 5, 2);
  thick.absorber.cells = 17;
  EXPECT_THROW((void)thick.stepper<float>(), std::invalid_argument);
  scenes::Scene short_medium = scenes::layered(40, 33, 5, 2);
  short_medium.medium.cells.pop_back();
  EXPECT_THROW((void)short_medium.stepper<float>(), std::invalid_argument);
  scenes::Scene five = scenes::layered(40, 33, 5, 2);
  five.medium.relaxation_times.assign(5, 1e-11);
  EXPECT_THROW((void)five.stepper<float>(), std::invalid_argument);
  scenes::Scene lacking = scenes::layered(40, 33, 5, 2);
  lacking.medium.palette[1].strengths.pop_back();
  EXPECT_THROW((void)lacking.stepper<float>(), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
