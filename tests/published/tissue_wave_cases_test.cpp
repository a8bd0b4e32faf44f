#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <string_view>

#include "materials/constants.hpp"
#include "materials/wave_quantities.hpp"

namespace torsowave::materials {
namespace {

WaveQuantities waves_in(double permittivity, double conductivity, double frequency)
{
  return wave_quantities(
      {permittivity, -conductivity / (two_pi * frequency * vacuum_permittivity)},
      frequency);
}

struct Case {
  std::string_view name;
  int digits;  ///< of the results below
  double frequency;
  double permittivity;
  double conductivity;             ///< [S/m]
  double attenuation;              ///< [dB/cm], 0: not given
  double wavelength;               ///< [cm], 0: not given
  double penetration_depth;        ///< [cm]
  std::complex<double> impedance;  ///< [ohm], 0: not given
};

// Muscle: inputs seen in a university exercise on the air-muscle interface (the data of
// C. C. Johnson, A. W. Guy, Proc. IEEE 60 (1972) 692-718; attribution from memory). The
// 402 MHz and rounded 2450 MHz tissues: inputs seen in a web tutorial. Fat 5.5 / 0.12:
// inputs of a textbook problem (seen; book from memory: Inan & Inan). Seawater: inputs of
// a university tutorial (seen). The results are computed with the textbook's plane-wave
// formulas by a separate script.
constexpr auto cases = std::to_array<Case>({
    {"muscle", 5, 100e6, 71.7, 0.889, 1.30924, 26.985, 6.63432, {23.8961, 15.4693}},
    {"muscle", 5, 915e6, 51.0, 1.6, 3.51535, 4.3998, 2.47085, {46.8287, 13.2715}},
    {"muscle", 5, 2450e6, 47.0, 2.21, 5.19958, 1.75961, 1.6705, {52.6931, 8.83371}},
    {"fat", 6, 2450e6, 5.5, 0.12, 0.0, 0.0, 10.4082, 0.0},
    {"seawater", 6, 1e6, 81.0, 4.0, 0.0, 158.025, 25.1788, 0.0},
    {"eps_r 10, 2 S/m", 5, 100e6, 10.0, 2.0, 0.0, 0.0, 3.6087, 0.0},
    {"skin", 4, 402e6, 46.0, 0.69, 1.586, 0.0, 5.478, 0.0},
    {"fat", 4, 402e6, 5.6, 0.04, 0.2732, 0.0, 31.80, 0.0},
    {"muscle", 4, 402e6, 57.0, 0.80, 1.660, 9.460, 5.231, 0.0},
    {"skin", 4, 2450e6, 38.0, 1.5, 3.941, 0.0, 2.204, 0.0},
    {"fat", 4, 2450e6, 5.3, 0.10, 0.7090, 0.0, 12.251, 0.0},
    {"muscle", 4, 2450e6, 53.0, 1.7, 3.795, 0.0, 2.289, 0.0},
});

TEST(TissueWaves, AgreeWithWorkedCases)
{
  for (const Case& given : cases) {
    const double tolerance =
        0.5 * std::pow(10.0, 1 - given.digits);  // half a unit of the last
    const WaveQuantities wave =
        waves_in(given.permittivity, given.conductivity, given.frequency);
    SCOPED_TRACE(given.name);
    EXPECT_NEAR(wave.penetration_depth * 100.0 / given.penetration_depth, 1.0, tolerance);
    EXPECT_NEAR(wave.conductivity / given.conductivity, 1.0, 1e-12);
    if (given.attenuation > 0.0) {
      EXPECT_NEAR(wave.attenuation_db_per_m / 100.0 / given.attenuation, 1.0, tolerance);
    }
    if (given.wavelength > 0.0) {
      EXPECT_NEAR(wave.wavelength * 100.0 / given.wavelength, 1.0, tolerance);
    }
    if (std::abs(given.impedance) > 0.0) {
      EXPECT_LT(std::abs(wave.impedance - given.impedance),
                1e-4 * std::abs(given.impedance));
    }
  }
}

TEST(TissueWaves, AgreeWithASeawaterSolution)
{
  // University tutorial, worked solution (seen; two digits, good-conductor formulas):
  // tan 8.9e2, depth 25 cm, wavelength 1.6 m, velocity 1.6e6 m/s. Exact, computed:
  // |eta| 1.40496 ohm at 44.9677 degrees.
  const WaveQuantities wave = waves_in(81.0, 4.0, 1e6);
  EXPECT_NEAR(wave.loss_tangent, 8.9e2, 5.0);
  EXPECT_NEAR(wave.penetration_depth, 0.25, 0.005);
  EXPECT_NEAR(wave.wavelength, 1.6, 0.05);
  EXPECT_NEAR(wave.phase_velocity, 1.6e6, 0.05e6);
  EXPECT_NEAR(std::abs(wave.impedance), 1.40496, 1e-5);
  EXPECT_NEAR(std::arg(wave.impedance) * 180.0 / std::numbers::pi, 44.9677, 1e-4);
}

TEST(TissueWaves, AirMuscleReflectionOfTheExercise)
{
  // The exercise's question: share of the incident power absorbed. Inputs seen, results
  // computed.
  struct Reflection {
    double frequency, permittivity, conductivity, magnitude, degrees, absorbed;
  };
  for (const Reflection& given :
       {Reflection{100e6, 71.7, 0.889, 0.880896, 175.278, 0.224022},
        Reflection{915e6, 51.0, 1.6, 0.779127, 175.902, 0.39296},
        Reflection{2450e6, 47.0, 2.21, 0.754707, 177.26, 0.430417}}) {
    const std::complex<double> eta =
        waves_in(given.permittivity, given.conductivity, given.frequency).impedance;
    const std::complex<double> gamma =
        (eta - vacuum_impedance) / (eta + vacuum_impedance);
    EXPECT_NEAR(std::abs(gamma), given.magnitude, 1e-6);
    EXPECT_NEAR(std::arg(gamma) * 180.0 / std::numbers::pi, given.degrees, 6e-4);
    EXPECT_NEAR(1.0 - std::norm(gamma), given.absorbed, 5e-6);
  }
}

}  // namespace
}  // namespace torsowave::materials
