// Three layers, as at the trunk's wall: muscle, 10 mm of fat, 2 mm of skin, in air, at
// 2.45 GHz. The field in the air against the series of layered_cylinder.hpp.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "published/full_wave_run.hpp"

namespace torsowave::reference {
namespace {

constexpr double outside = 0.084;  ///< circle looked at, 12 mm outside the skin [m]

RoundBody trunk_wall(double source_radius_mm, double source_angle_deg, int cells)
{
  return {{{"muscle", 60.0}, {"fat_not_infiltrated", 70.0}, {"skin_dry", 72.0}},
          source_radius_mm,
          source_angle_deg,
          "cells_per_wavelength: " + std::to_string(cells) + ", margin: 20 mm",
          "{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}",
          "[2.45 GHz]",
          "{decay: 80 dB}"};
}

std::vector<FieldPair> outside_of(const RoundBody& body)
{
  const FullWaveRun run = run_full_wave(body.scenario());
  return fields_on_circle(run, exact_solution(body, run.plan, 0), 0, outside, 72);
}

// Measured: 0.622, 0.1515 and 0.0400 dB at 10, 20 and 40 cells per wavelength (order
// 1.98); the complex fields differ by 5.3 %, 1.32 % and 0.33 % (root mean square).
TEST(FullWaveRings, FieldOutsideConvergesToTheSeries)
{
  std::vector<double> worst_db;
  std::vector<double> rms;
  for (const int cells : {10, 20, 40}) {
    const FieldErrors errors =
        errors_within(outside_of(trunk_wall(20.0, 25.0, cells)), 30.0);
    EXPECT_EQ(errors.count, 72);
    worst_db.push_back(errors.worst_db);
    rms.push_back(errors.rms);
    RecordProperty("worst_db_" + std::to_string(cells), std::to_string(errors.worst_db));
    RecordProperty("rms_" + std::to_string(cells), std::to_string(errors.rms));
  }
  EXPECT_LE(worst_db[1], 0.2);
  EXPECT_LE(worst_db[2], 0.06);
  EXPECT_GE(std::log(worst_db[0] / worst_db[2]) / std::log(4.0), 1.8);
  EXPECT_GE(std::log(rms[0] / rms[2]) / std::log(4.0), 1.8);
}

// A source half-way out, straight behind a side or a corner of the cells, at 10, 20 and
// 40 cells: 1.44, 0.34, 0.086 dB (0 deg) and 2.73, 0.60, 0.143 dB (45 deg) over all 72
// angles.
//
// Finding: the worst angles are in a minimum 27 dB down, 100 to 120 deg round the body
// from the source, where little else than weak waves of different paths is left. The grid
// shifts each of them by the part of its dispersion that depends on direction, k^3
// dx^2/96 cos(4 phi), about 1 deg on 50 mm of muscle at 20 cells, which no average over
// directions takes out (full_wave_homogeneous_test.cpp checks its size); that it explains
// the minimum is inferred, not proven. Against the largest field the error is 1.0 and
// 1.6 % at most, and it is second order. In dB the bounds of the test above hold where
// the field is within 15 dB of its largest: 0.053 and 0.170 dB at 20 cells, 0.012 and
// 0.042 dB at 40; the half of the body that faces the source is within 0.33 dB at 20
// cells.
class FullWaveEccentricSource : public testing::TestWithParam<double> {};

TEST_P(FullWaveEccentricSource, FieldOutsideConvergesToTheSeries)
{
  const auto coarse = outside_of(trunk_wall(30.0, GetParam(), 20));
  const auto fine = outside_of(trunk_wall(30.0, GetParam(), 40));
  RecordProperty("everywhere_db_20", std::to_string(errors_within(coarse, 1e3).worst_db));
  RecordProperty("everywhere_db_40", std::to_string(errors_within(fine, 1e3).worst_db));
  EXPECT_LE(errors_within(coarse, 15.0).worst_db, 0.2);
  EXPECT_LE(errors_within(fine, 15.0).worst_db, 0.06);
  const FieldErrors coarse_all = errors_within(coarse, 1e3);
  const FieldErrors fine_all = errors_within(fine, 1e3);
  EXPECT_EQ(coarse_all.count, 72);
  EXPECT_LE(coarse_all.worst_of_largest, 0.02);
  EXPECT_LE(fine_all.worst_of_largest, 0.005);
  EXPECT_GE(coarse_all.rms / fine_all.rms, 3.4);
  EXPECT_GE(coarse_all.worst_db / fine_all.worst_db, 3.4);
}

INSTANTIATE_TEST_SUITE_P(BehindSideAndCorner, FullWaveEccentricSource,
                         testing::Values(0.0, 45.0));

// Two ways to paint the same body. A rind follows a polyline that is 25 nm off at most,
// enough to move some area fractions by one quantum of 1/256. Measured: 3.8e-5.
TEST(FullWaveRings, RindsAndCirclesGiveTheSameField)
{
  RoundBody body = trunk_wall(20.0, 25.0, 20);
  const std::vector<FieldPair> circles = outside_of(body);
  body.as_shells = true;
  const std::vector<FieldPair> rinds = outside_of(body);
  double worst = 0.0;
  for (std::size_t n = 0; n < circles.size(); ++n) {
    worst = std::max(worst, std::abs(rinds[n].found / circles[n].found - 1.0));
  }
  RecordProperty("worst_relative", testing::PrintToString(worst));
  EXPECT_LE(worst, 1e-4);
}

}  // namespace
}  // namespace torsowave::reference
