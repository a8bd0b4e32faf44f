#include "materials/wave_quantities.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

#include "materials/constants.hpp"

namespace torsowave::materials {
namespace {

TEST(WaveQuantities, VacuumIsLossless)
{
  const WaveQuantities wave = wave_quantities(1.0, 1e9);
  EXPECT_DOUBLE_EQ(wave.wavelength, speed_of_light / 1e9);
  EXPECT_DOUBLE_EQ(wave.phase_velocity, speed_of_light);
  EXPECT_DOUBLE_EQ(wave.impedance.real(), vacuum_impedance);
  EXPECT_EQ(wave.impedance.imag(), 0.0);
  EXPECT_EQ(wave.attenuation, 0.0);
  EXPECT_EQ(wave.conductivity, 0.0);
  EXPECT_EQ(wave.penetration_depth, std::numeric_limits<double>::infinity());
}

TEST(WaveQuantities, AgreesWithTheRealForm)
{
  // alpha, beta = w sqrt(mu eps'/2) sqrt(sqrt(1 + tan^2) -+ 1): the textbook's real form.
  for (const double tangent : {1e-3, 0.1, 1.0, 30.0, 900.0}) {
    const double permittivity = 57.0;
    const double frequency = 403.5e6;
    const WaveQuantities wave =
        wave_quantities({permittivity, -permittivity * tangent}, frequency);
    const double scale =
        two_pi * frequency / speed_of_light * std::sqrt(permittivity / 2.0);
    const double root = std::sqrt(1.0 + tangent * tangent);
    EXPECT_NEAR(wave.attenuation / (scale * std::sqrt(root - 1.0)), 1.0, 1e-9) << tangent;
    EXPECT_NEAR(wave.phase_constant / (scale * std::sqrt(root + 1.0)), 1.0, 1e-12)
        << tangent;
    EXPECT_NEAR(wave.loss_tangent, tangent, 1e-12 * tangent);
    EXPECT_NEAR(wave.attenuation_db_per_m, 8.685889638065037 * wave.attenuation,
                1e-12 * wave.attenuation_db_per_m);
    EXPECT_NEAR(wave.penetration_depth * wave.attenuation, 1.0, 1e-12);
    EXPECT_NEAR(wave.phase_velocity, frequency * wave.wavelength, 1e-6);
    EXPECT_GT(wave.impedance.imag(), 0.0);  // E leads H in a lossy medium, exp(+jwt)
  }
}

TEST(WaveQuantities, RefusesWhatDoesNotPropagate)
{
  EXPECT_THROW((void)wave_quantities(-2.0, 1e9), std::invalid_argument);
  EXPECT_THROW((void)wave_quantities(0.0, 1e9), std::invalid_argument);
  EXPECT_THROW((void)wave_quantities(2.0, 0.0), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::materials
