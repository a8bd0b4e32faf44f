#include "materials/debye_medium.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <stdexcept>
#include <string>

#include "materials/constants.hpp"

namespace torsowave::materials {
namespace {

TEST(DebyeMedium, AtItsRelaxationAPoleIsHalfWayUp)
{
  const double sigma = 0.5;
  const DebyeMedium medium(4.0, sigma, {{50.0, 1.0 / (two_pi * 2e9)}});
  const std::complex<double> eps = relative_permittivity(medium, 2e9);
  EXPECT_NEAR(eps.real(), 29.0, 1e-12);
  EXPECT_NEAR(eps.imag(), -25.0 - sigma / (two_pi * 2e9 * vacuum_permittivity), 1e-12);
}

std::string message_of(double eps_inf, double sigma, std::vector<DebyePole> poles)
{
  try {
    const DebyeMedium medium(eps_inf, sigma, std::move(poles));
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
  return "accepted";
}

TEST(DebyeMedium, NamesTheParameterThatBreaksItsBound)
{
  EXPECT_EQ(message_of(0.5, 0.0, {}), "eps_inf must be finite and >= 1, got 0.5");
  EXPECT_EQ(message_of(2.0, -0.4, {}),
            "conductivity [S/m] must be finite and >= 0, got -0.4");
  EXPECT_EQ(message_of(2.0, 0.0, {{1.0, 1e-12}, {-3.0, 1e-12}}),
            "Debye pole 2 of 2: strength must be finite and >= 0, got -3");
  EXPECT_EQ(message_of(2.0, 0.0, {{1.0, 0.0}}),
            "Debye pole 1 of 1: relaxation_time [s] must be finite and > 0, got 0");
  EXPECT_EQ(message_of(std::numeric_limits<double>::infinity(), 0.0, {}),
            "eps_inf must be finite and >= 1, got inf");
  EXPECT_EQ(message_of(1.0, 0.0, {}), "accepted");
}

TEST(DebyeMedium, RefusesUnusableFrequencies)
{
  const DebyeMedium medium(2.0, 0.0, {});
  EXPECT_THROW((void)relative_permittivity(medium, 0.0), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::materials
