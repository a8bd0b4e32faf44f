// Noise against hand-worked values of k T B and the published man-made model.

#include "postproc/radio_noise.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

// k T B with k of the SI (2019), evaluated separately; the textbook rounds to -174
// dBm/Hz.
TEST(ThermalNoise, IsKTB)
{
  EXPECT_NEAR(thermal_noise_dbm(290.0, 1.0), -173.9752, 5.1e-5);
  EXPECT_NEAR(thermal_noise_dbm(290.0, 1.0), -174.0, 0.05);
  EXPECT_NEAR(thermal_noise_dbm(body_temperature, 1.0), -173.6856, 5.1e-5);
  EXPECT_NEAR(thermal_noise_dbm(290.0, 300e3), -119.2040, 5.1e-5);
  EXPECT_NEAR(thermal_noise_dbm(290.0, 1e6), -113.975, 5.1e-4);
  EXPECT_NEAR(thermal_noise_dbm(290.0, 2e6), -110.965, 5.1e-4);
}

// Friis 1944 (from memory). Worked by hand: 3.0103 dB is F = 2, so T0; a receiver at T0
// whose surroundings are at T0 has k T0 B + NF.
TEST(ReceiverNoise, FollowsTheNoiseFigure)
{
  EXPECT_EQ(receiver_temperature(0.0), 0.0);
  EXPECT_NEAR(receiver_temperature(10.0 * std::log10(2.0)), 290.0, 1e-10);
  EXPECT_NEAR(receiver_temperature(6.0), 864.511, 5.1e-4);
  EXPECT_NEAR(system_noise(290.0, 6.0, {}).density_dbm(),
              thermal_noise_dbm(290.0, 1.0) + 6.0, 1e-11);
}

// Rec. ITU-R P.372-17, part 6 (as coded in public programs that name it). Worked by hand
// at 10 and 100 MHz: 76.8 - 27.7 = 49.1, 76.8 - 55.4 = 21.4 and so on.
TEST(ManMadeNoise, IsThatOfThePublishedModel)
{
  EXPECT_NEAR(man_made_noise_db(NoiseArea::city, 10e6).value(), 49.1, 1e-12);
  EXPECT_NEAR(man_made_noise_db(NoiseArea::city, 100e6).value(), 21.4, 1e-12);
  EXPECT_NEAR(man_made_noise_db(NoiseArea::residential, 100e6).value(), 17.1, 1e-12);
  EXPECT_NEAR(man_made_noise_db(NoiseArea::rural, 100e6).value(), 11.8, 1e-12);
  EXPECT_NEAR(man_made_noise_db(NoiseArea::quiet_rural, 100e6).value(), -3.6, 1e-12);
}

TEST(ManMadeNoise, SaysNothingWhereItsModelDoesNot)
{
  for (const double frequency : {0.29e6, 251e6, 403.5e6, 2.45e9}) {
    EXPECT_FALSE(man_made_noise_db(NoiseArea::city, frequency).has_value()) << frequency;
  }
  EXPECT_TRUE(man_made_noise_db(NoiseArea::city, 0.3e6).has_value());
  EXPECT_TRUE(man_made_noise_db(NoiseArea::city, 250e6).has_value());
}

// Worked by hand: 20 dB above k T0 B are 29000 K.
TEST(SystemNoise, AddsItsParts)
{
  const SystemNoise noise = system_noise(310.0, 10.0 * std::log10(2.0), 20.0);
  EXPECT_NEAR(noise.man_made, 29000.0, 1e-9);
  EXPECT_NEAR(noise.temperature(), 310.0 + 29000.0 + 290.0, 1e-9);
  EXPECT_EQ(system_noise(310.0, 0.0, {}).temperature(), 310.0);
  EXPECT_NEAR(system_noise(310.0, 0.0, {}).density_dbm(), -173.6856, 5.1e-5);
}

TEST(RadioNoise, RefusesWhatCannotBe)
{
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double bad : {0.0, -1.0, nan}) {
    EXPECT_THROW(static_cast<void>(thermal_noise_dbm(bad, 1.0)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(thermal_noise_dbm(290.0, bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(man_made_noise_db(NoiseArea::rural, bad)),
                 std::invalid_argument);
    EXPECT_THROW(static_cast<void>(system_noise(bad, 1.0, {})), std::invalid_argument);
  }
  for (const double bad : {-0.1, 61.0, nan}) {
    EXPECT_THROW(static_cast<void>(receiver_temperature(bad)), std::invalid_argument);
  }
}

}  // namespace
}  // namespace torsowave::postproc
