// The single formulas of a link against published figures and values worked by hand.

#include "postproc/link_formulas.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

struct FreeSpace {
  double frequency, distance;
  double exact;    ///< 4 pi d/lambda
  double printed;  ///< with the constant 32.4
};

// Rec. ITU-R P.525, evaluated separately in both forms.
constexpr std::array free_space{
    FreeSpace{403.5e6, 2.0, 30.5853, 30.5375}, FreeSpace{868.3e6, 2.0, 37.2418, 37.1940},
    FreeSpace{915e6, 2.0, 37.6968, 37.6490}, FreeSpace{2.45e9, 2.0, 46.2517, 46.2039},
    FreeSpace{2.45e9, 10.0, 60.2311, 60.1833}};

TEST(FreeSpaceLoss, IsThatOfP525)
{
  for (const FreeSpace& c : free_space) {
    const double loss = free_space_loss_db(c.frequency, c.distance);
    EXPECT_NEAR(loss, c.exact, 5.1e-5) << c.frequency;
    // 32.4 rounds 20 log10(4 pi 1e9/c) = 32.4478.
    EXPECT_NEAR(loss - 0.0478, c.printed, 1.1e-4) << c.frequency;
  }
  // Rec. ITU-R RS.1346 (1998), annex 1: 30.5 dB at 2 m (from memory).
  EXPECT_NEAR(free_space_loss_db(403.5e6, 2.0), 30.5, 0.1);
}

struct Field {
  double eirp;
  double printed;    ///< [mV/m] at 3 m
  double tolerance;  ///< half of the last digit printed
};

// 47 CFR 95.2569(a), free space.
constexpr std::array fields{Field{25e-6, 9.1, 0.05}, Field{250e-9, 0.9, 0.05},
                            Field{100e-9, 0.6, 0.05}};

TEST(FreeSpaceField, IsThatOfTheRulesTable)
{
  for (const Field& field : fields) {
    EXPECT_NEAR(1e3 * free_space_field(field.eirp, 3.0), field.printed, field.tolerance);
  }
  EXPECT_NEAR(1e3 * free_space_field(25e-6, 3.0), 9.12871, 5.1e-6);  // P.525-2, eq. 1
  // Finding: the table's 57.55 for 1 mW is 0.32 % below its own formula, sqrt(0.03)/3.
  EXPECT_NEAR(1e3 * free_space_field(1e-3, 3.0), 57.7350, 5.1e-5);
  EXPECT_NEAR(1e3 * free_space_field(1e-3, 3.0) / 57.55, 1.0032, 5.1e-5);
  EXPECT_EQ(free_space_field(0.0, 3.0), 0.0);
}

// Worked by hand: lambda = 0.299792 m at 1 GHz; 2 0.3^2/lambda = 0.600415 m, and
// lambda/(2 pi) = 0.0477135 m for a point.
TEST(FarFieldDistance, FollowsSizeAndWavelength)
{
  EXPECT_NEAR(far_field_distance(1e9, 0.3), 0.600415, 5.1e-7);
  EXPECT_NEAR(far_field_distance(1e9, 0.0), 0.0477135, 5.1e-8);
}

// Worked by hand: 10 dB: -10 log10(0.9); half reflected: 3.0103 dB.
TEST(MismatchLoss, IsWhatIsNotReflected)
{
  EXPECT_NEAR(mismatch_loss_db(10.0), 0.457575, 5.1e-7);
  EXPECT_NEAR(mismatch_loss_db(10.0 * std::log10(2.0)), 3.0103, 5.1e-6);
  EXPECT_EQ(mismatch_loss_db(infinity), 0.0);
}

TEST(PolarisationLoss, IsTheProjection)
{
  EXPECT_EQ(polarisation_loss_db(0.0), 0.0);
  EXPECT_NEAR(polarisation_loss_db(std::numbers::pi / 3.0), 6.0206, 5.1e-6);
  EXPECT_NEAR(polarisation_loss_db(std::numbers::pi / 4.0), 3.0103, 5.1e-6);
  EXPECT_NEAR(polarisation_loss_db(-std::numbers::pi / 4.0), 3.0103, 5.1e-6);
}

// 2.15 dB: the half-wave dipole's 1.64 (C. A. Balanis, ch. 4, from memory).
TEST(Erp, RefersToADipole)
{
  EXPECT_NEAR(eirp_over_erp_db, 10.0 * std::log10(1.64), 0.005);
}

// Standard table of the normal distribution (Abramowitz, Stegun, from memory).
TEST(NormalTail, IsThatOfTheTable)
{
  EXPECT_NEAR(normal_tail_inverse(0.5), 0.0, 1e-14);
  EXPECT_NEAR(normal_tail_inverse(0.1), 1.281552, 5.1e-7);
  EXPECT_NEAR(normal_tail_inverse(0.05), 1.644854, 5.1e-7);
  EXPECT_NEAR(normal_tail_inverse(0.01), 2.326348, 5.1e-7);
  EXPECT_NEAR(normal_tail_inverse(0.001), 3.090232, 5.1e-7);
}

TEST(NormalTail, InverseGivesTheProbabilityBack)
{
  for (const double p : {1e-15, 1e-12, 1e-6, 0.02, 0.3, 0.49}) {
    EXPECT_NEAR(0.5 * std::erfc(normal_tail_inverse(p) / std::numbers::sqrt2) / p, 1.0,
                1e-12);
  }
}

// Worked by hand: 7.85 dB 1.644854 = 12.9121 dB.
TEST(FadeMargin, IsTheQuantileTimesTheSpread)
{
  EXPECT_NEAR(fade_margin_db(deep_implant_sigma_db, 0.05), 12.9121, 5.1e-5);
  EXPECT_NEAR(fade_margin_db(7.85, 0.5), 0.0, 1e-13);
  EXPECT_EQ(fade_margin_db(0.0, 0.01), 0.0);
}

TEST(LinkFormulas, RefuseWhatCannotBe)
{
  for (const double bad : {0.0, -1.0, nan, infinity}) {
    EXPECT_THROW(static_cast<void>(free_space_loss_db(bad, 1.0)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(free_space_loss_db(1e9, bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(free_space_field(1.0, bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(far_field_distance(bad, 1.0)), std::invalid_argument);
  }
  for (const double bad : {-1.0, nan}) {
    EXPECT_THROW(static_cast<void>(free_space_field(bad, 1.0)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(far_field_distance(1e9, bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(mismatch_loss_db(bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(normal_tail_inverse(bad)), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(fade_margin_db(bad, 0.1)), std::invalid_argument);
  }
  EXPECT_THROW(static_cast<void>(mismatch_loss_db(0.0)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(polarisation_loss_db(std::numbers::pi / 2.0)),
               std::invalid_argument);
  EXPECT_THROW(static_cast<void>(polarisation_loss_db(nan)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(normal_tail_inverse(0.51)), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::postproc
