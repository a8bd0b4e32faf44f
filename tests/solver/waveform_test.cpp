// What the currents are over time, and what their spectra hold.

#include "solver/waveform.hpp"

#include <cmath>
#include <complex>
#include <stdexcept>

#include <gtest/gtest.h>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using materials::two_pi;

/// Integral of i(t) e^(-j w t) dt over the whole waveform, by the trapezoidal rule, which
/// is exact to rounding for smooth functions that end in nothing.
std::complex<double> spectrum(const Waveform& wave, double frequency)
{
  const double dt = 1.0 / (16.0 * wave.highest_frequency);
  std::complex<double> sum = 0.0;
  for (int n = 0; n * dt <= wave.end; ++n) {
    sum += wave.current(n * dt) * std::polar(1.0, -two_pi * frequency * n * dt);
  }
  return sum * dt;
}

double level(const Waveform& wave, double frequency)
{
  return std::abs(spectrum(wave, frequency));
}

TEST(PulseWaveform, CarriesNoDirectCurrent)
{
  for (const double bandwidth : {1e9, 2.4e9}) {
    const Waveform wave = pulse_waveform(1.4e9, bandwidth);
    EXPECT_LT(level(wave, 0.0), 1e-12 * level(wave, 1.4e9)) << bandwidth;
  }
}

TEST(PulseWaveform, IsTwentyDecibelsDownAtTheEdgesOfItsBand)
{
  const Waveform wave = pulse_waveform(2.45e9, 1e9);
  const double middle = level(wave, 2.45e9);
  EXPECT_NEAR(level(wave, 1.95e9) / middle, 0.1, 1e-9);
  EXPECT_NEAR(level(wave, 2.95e9) / middle, 0.1, 1e-9);
}

TEST(PulseWaveform, BeginsAndEndsInNothing)
{
  const Waveform wave = pulse_waveform(2.45e9, 1e9);
  EXPECT_LE(std::abs(wave.current(0.0)), 1.0001e-10);
  EXPECT_LE(std::abs(wave.current(wave.end)), 1.0001e-10);
  EXPECT_EQ(wave.current(-1e-15), 0.0);
  EXPECT_EQ(wave.current(wave.end * 1.000001), 0.0);
  // Odd about its middle.
  const double middle = 0.5 * wave.end;
  for (const double u : {0.07e-9, 0.4e-9, 1.1e-9}) {
    EXPECT_NEAR(wave.current(middle + u), -wave.current(middle - u), 1e-13);
  }
}

TEST(PulseWaveform, HoldsNothingAboveItsHighestFrequency)
{
  const Waveform wave = pulse_waveform(1.4e9, 2.4e9);
  const double middle = level(wave, 1.4e9);
  for (const double factor : {1.0, 1.3, 2.0}) {
    EXPECT_LT(level(wave, factor * wave.highest_frequency), 2e-10 * middle) << factor;
  }
  EXPECT_GT(level(wave, 0.9 * wave.highest_frequency), 1e-10 * middle);
}

TEST(CwWaveform, RisesWithARaisedCosineAndStaysASine)
{
  const double f = 403.5e6;
  const double ramp = 10e-9;
  const Waveform wave = cw_waveform(f, ramp);
  const auto sine = [&](double t) { return std::sin(two_pi * f * t); };
  EXPECT_EQ(wave.current(-1e-12), 0.0);
  for (const double part : {0.25, 0.5, 0.75}) {
    const double t = part * ramp;
    const double envelope = std::pow(std::sin(0.25 * two_pi * part), 2);
    EXPECT_NEAR(wave.current(t), envelope * sine(t), 1e-14) << part;
  }
  for (const double t : {10e-9, 12.3e-9, 57.9e-9}) {
    EXPECT_NEAR(wave.current(t), sine(t), 1e-14) << t;
  }
  EXPECT_TRUE(std::isinf(wave.end));
  EXPECT_GT(wave.highest_frequency, f);
}

TEST(RickerWaveform, PeaksAtItsFrequency)
{
  const double center = 1.2e9;
  const Waveform wave = ricker_waveform(center);
  const double peak = level(wave, center);
  // (f/fc)^2 exp(-(f/fc)^2), relative to its peak at fc.
  for (const double f : {0.3, 0.7, 0.95, 1.05, 1.5, 2.5}) {
    EXPECT_NEAR(level(wave, f * center) / peak, f * f * std::exp(1.0 - f * f), 1e-8) << f;
  }
  EXPECT_LT(level(wave, 0.0), 1e-9 * peak);
  EXPECT_LT(level(wave, wave.highest_frequency), 1e-9 * peak);
  EXPECT_NEAR(wave.current(0.5 * wave.end), 1.0, 1e-12);
  EXPECT_LT(std::abs(wave.current(0.0)), 1e-9);
}

TEST(SampledWaveform, JoinsSamplesByLinesAndIsNothingOutside)
{
  const Waveform wave = sampled_waveform({1e-9, 2e-9, 4e-9}, {0.0, 3.0, -1.0});
  EXPECT_EQ(wave.current(0.999e-9), 0.0);
  EXPECT_EQ(wave.current(4.001e-9), 0.0);
  EXPECT_DOUBLE_EQ(wave.current(1e-9), 0.0);
  EXPECT_DOUBLE_EQ(wave.current(1.5e-9), 1.5);
  EXPECT_DOUBLE_EQ(wave.current(2e-9), 3.0);
  EXPECT_DOUBLE_EQ(wave.current(3e-9), 1.0);
  EXPECT_DOUBLE_EQ(wave.current(4e-9), -1.0);
  EXPECT_EQ(wave.end, 4e-9);
  EXPECT_DOUBLE_EQ(wave.highest_frequency, 2e9);
}

TEST(SampledWaveform, RefusesSamplesThatMakeNoCurve)
{
  EXPECT_THROW((void)sampled_waveform({1e-9}, {1.0}), std::invalid_argument);
  EXPECT_THROW((void)sampled_waveform({1e-9, 2e-9}, {1.0}), std::invalid_argument);
  EXPECT_THROW((void)sampled_waveform({1e-9, 1e-9}, {1.0, 2.0}), std::invalid_argument);
  EXPECT_THROW((void)sampled_waveform({2e-9, 1e-9}, {1.0, 2.0}), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
