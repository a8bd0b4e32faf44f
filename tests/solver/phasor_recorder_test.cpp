// Fourier sums: their arithmetic, and what the fade leaks.

#include "solver/phasor_recorder.hpp"

#include <cmath>
#include <complex>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::two_pi;

TEST(SamplingPhases, AreRightHoweverLate)
{
  // After a whole number of periods the phase is that of the start; 2^-30 s is exact.
  const double f = std::ldexp(1.0, 31);
  const double late = std::ldexp(1.0, -4) + std::ldexp(1.0, -34);  // + 1/8 period
  const std::vector<double> frequencies{f, 2.0 * f};
  const std::vector<Complex> phases = sampling_phases(frequencies, late, 3.0);
  const double part = 3.0 * std::sqrt(0.5);
  EXPECT_NEAR(phases[0].real(), part, 1e-14);
  EXPECT_NEAR(phases[0].imag(), -part, 1e-14);
  EXPECT_NEAR(phases[1].real(), 0.0, 1e-14);
  EXPECT_NEAR(phases[1].imag(), -3.0, 1e-14);
}

template <class Real>
void expect_sums_of_the_field(int threads)
{
  const scenes::Scene scene = scenes::layered(53, 47, 8, 2);
  TmzStepper<Real> stepper = scene.stepper<Real>({threads, best_instruction_set()});
  stepper.add_source({26, 20, pulse_waveform(3e9, 4e9).current});
  const std::vector<double> frequencies{1.1e9, 2.45e9, 4.0e9};
  PhasorRecorder recorder(scene.grid, frequencies);
  recorder.sample(stepper, 1.0);
  stepper.advance(10);
  recorder.sample(stepper, 5.0);
  recorder.restart();
  std::vector<Complex> sums(3 * scene.grid.raster.size());
  for (int n = 0; n < 60; ++n) {
    stepper.advance(7);
    const double weight = 1.0 / (1.0 + n);
    recorder.sample(stepper, weight);
    const double t = 1e0 * static_cast<double>(stepper.step()) * scene.grid.time_step;
    for (std::size_t f = 0; f < 3; ++f) {
      const Complex phase = weight * std::polar(1.0, -two_pi * frequencies[f] * t);
      for (int j = 0; j < 47; ++j) {
        for (int i = 0; i < 53; ++i) {
          sums[f * scene.grid.raster.size() + scene.grid.raster.at(i, j)] +=
              phase *
              static_cast<double>(stepper.centre_row(j)[static_cast<std::size_t>(i)]);
        }
      }
    }
  }
  double largest = 0.0;
  double worst = 0.0;
  for (std::size_t f = 0; f < 3; ++f) {
    for (int j = 0; j < 47; ++j) {
      for (int i = 0; i < 53; ++i) {
        const Complex sum =
            sums[f * scene.grid.raster.size() + scene.grid.raster.at(i, j)];
        largest = std::max(largest, std::abs(sum));
        worst = std::max(worst,
                         std::abs(sum - recorder.row(f, j)[static_cast<std::size_t>(i)]));
      }
    }
  }
  ASSERT_GT(largest, 1.0);
  EXPECT_LT(worst, 1e-12 * largest);
}

TEST(PhasorRecorder, SumsTheFieldWithThePhaseOfItsTime)
{
  expect_sums_of_the_field<double>(1);
  expect_sums_of_the_field<double>(3);
  expect_sums_of_the_field<float>(2);
}

TEST(PhasorRecorder, NamesItsMemory)
{
  EXPECT_EQ(PhasorRecorder::memory_bytes(100, 50, 3), 100U * 50U * 3U * 16U);
}

TEST(SourceRecorder, SumsAKnownSignal)
{
  // cos(w t + phi) over a whole number of periods sums to N/2 e^(j phi) at w, and to
  // nothing at 2 w.
  Grid grid{{10, 10, 1e-3, {}}, 1e-12, 0};
  const int steps = 4000;
  const double f = 10.0 / (steps * grid.time_step);
  const double phi = 0.7;
  SourceRecorder recorder(grid, [&](double t) { return std::cos(two_pi * f * t + phi); },
                          {f, 2.0 * f});
  recorder.sample(17);
  recorder.restart();
  for (long n = 1; n <= steps; ++n) {
    recorder.sample(n, 2.0);
  }
  EXPECT_LT(std::abs(recorder.sum(0) - std::polar(1.0 * steps, phi)), 1e-9 * steps);
  EXPECT_LT(std::abs(recorder.sum(1)), 1e-9 * steps);
}

TEST(FadeWeight, FallsSteadilyFromOneToNothing)
{
  EXPECT_EQ(fade_weight(-1.0), 1.0);
  EXPECT_EQ(fade_weight(0.0), 1.0);
  EXPECT_EQ(fade_weight(1.0), 0.0);
  EXPECT_EQ(fade_weight(2.0), 0.0);
  EXPECT_NEAR(fade_weight(0.5), 0.5, 1e-15);
  for (int n = 0; n < 1000; ++n) {
    EXPECT_LT(fade_weight((n + 1) * 1e-3), fade_weight(n * 1e-3) + 1e-15) << n;
    EXPECT_NEAR(fade_weight(n * 1e-3) + fade_weight(1.0 - n * 1e-3), 1.0, 1e-14);
  }
}

/// What a steady field, faded out over `periods` periods of 400 samples, leaves in the
/// sum at that frequency, against what it leaves when it is cut off [dB].
double leak(double periods)
{
  constexpr double samples = 400.0;
  const Complex turn = std::polar(1.0, -two_pi / samples);
  const Complex cut = 1.0 / (1.0 - turn);
  const double length = periods * samples;
  Complex faded = 0.0;
  for (int n = 0; n < length; ++n) {
    faded += fade_weight(n / length) * std::pow(turn, n);
  }
  // An endless steady field adds up to `cut`'s value at its start, with no leak at all.
  return 20.0 * std::log10(std::abs(faded - cut) / std::abs(cut));
}

TEST(FadeWeight, LeaksLessThanMinus92DecibelsFromFourPeriodsOn)
{
  for (double periods = 4.0; periods < 25.0; periods += 0.083) {
    EXPECT_LT(leak(periods), -92.0) << periods;
  }
  // It is the fade that does it, and four periods are needed.
  EXPECT_GT(leak(3.0), -70.0);
}

}  // namespace
}  // namespace torsowave::solver
