// TEz in a round body with an air capsule, 10 mm of fat and 2 mm of skin, at 2.45 GHz:
// the magnetic field in the air against the series of layered_cylinder.hpp for the same
// (fitted) media.

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "published/full_wave_tez_case.hpp"

namespace torsowave::reference {
namespace {

TezErrors recorded(const char* name, const TezCase& one)
{
  const TezErrors errors = errors_of(one);
  testing::Test::RecordProperty(name, errors.text());
  return errors;
}

double order(double coarse, double fine)
{
  return std::log2(coarse / fine);
}

// Measured at 10, 20 and 40 cells per wavelength: 0.540, 0.170 and 0.046 dB at the worst
// angle, 5.2, 1.39 and 0.39 % root mean square, radiated power 0.421, 0.115 and 0.030 dB:
// order 1.7 to 1.9. The worst of 72 sectors, over the largest: 16.4, 4.9 and 1.7 %.
// There the field beside the interface counts, whose own errors of first order die out
// within a few cells (\see docs/validation.md, "Power by sector").
TEST(FullWaveTez, AMagneticLineInACapsuleConvergesToTheSeries)
{
  const TezErrors coarse = recorded("cells_10", {.cells = 10});
  const TezErrors middle = recorded("cells_20", {.cells = 20});
  const TezErrors fine = recorded("cells_40", {.cells = 40});
  EXPECT_EQ(middle.field.count, 72);
  EXPECT_LE(middle.field.worst_db, 0.3);
  EXPECT_LE(fine.field.worst_db, 0.1);
  EXPECT_LE(middle.sectors.worst_of_largest, 0.055);
  EXPECT_LE(fine.sectors.worst_of_largest, 0.025);
  EXPECT_GE(order(coarse.field.rms, middle.field.rms), 1.5);
  EXPECT_GE(order(middle.field.rms, fine.field.rms), 1.5);
  EXPECT_GE(order(middle.field.worst_db, fine.field.worst_db), 1.5);
}

// Without averaging interfaces are staircases. Measured at 20 and 40 cells, once: 6.8 and
// 3.5 % root mean square, order 0.98. Here at 10 and 20 cells, where the order of a
// staircase is still a matter of luck, only that averaging is better.
TEST(FullWaveTez, AveragingBeatsTheStaircase)
{
  const TezErrors averaged = errors_of({});
  const TezErrors staircase = recorded("none", {.averaging = "none"});
  EXPECT_GE(staircase.field.rms, 2.0 * averaged.field.rms);
}

// A dipole at 30 deg, 2.2 mm off the centre of a capsule of 10 mm radius. Its pattern has
// minima more than 25 dB deep; all angles but two lie within 30 dB. Measured at 20 and 40
// cells: 0.234 and 0.073 dB at the worst of these, 1.51 and 0.48 % root mean square,
// radiated power 0.098 and 0.025 dB: order 1.6 to 2. Others:
// nightly/tez_dipoles_test.cpp
TEST(FullWaveTez, ADipoleInACapsuleConvergesToTheSeries)
{
  const TezErrors middle = recorded("cells_20", {.dipole_deg = 30.0, .capsule_mm = 10.0});
  const TezErrors fine =
      recorded("cells_40", {.dipole_deg = 30.0, .capsule_mm = 10.0, .cells = 40});
  EXPECT_GE(middle.field.count, 70);
  EXPECT_LE(middle.field.worst_db, 0.3);
  EXPECT_LE(fine.field.worst_db, 0.1);
  EXPECT_LE(std::abs(middle.radiated_db), 0.1);
  EXPECT_LE(std::abs(fine.radiated_db), 0.03);
  EXPECT_LE(middle.field.worst_of_largest, 0.02);
  EXPECT_LE(fine.field.worst_of_largest, 0.006);
  EXPECT_GE(order(middle.field.rms, fine.field.rms), 1.5);
  EXPECT_GE(order(middle.field.worst_db, fine.field.worst_db), 1.5);
}

}  // namespace
}  // namespace torsowave::reference
