#include "solver/wave_direction.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <stdexcept>

#include <gtest/gtest.h>

namespace torsowave::solver {
namespace {

constexpr double degree = std::numbers::pi / 180.0;

TEST(NearestDirection, IsExactOnTheAxesAndDiagonals)
{
  const auto expect = [](double degrees, int x, int y) {
    const WaveDirection direction = nearest_direction(degrees * degree);
    EXPECT_EQ(direction.x, x) << degrees;
    EXPECT_EQ(direction.y, y) << degrees;
    EXPECT_NEAR(
        std::remainder(direction.angle() - degrees * degree, 2 * std::numbers::pi), 0.0,
        1e-15);
  };
  expect(0.0, 1, 0);
  expect(90.0, 0, 1);
  expect(180.0, -1, 0);
  expect(270.0, 0, -1);
  expect(-90.0, 0, -1);
  expect(45.0, 1, 1);
  expect(135.0, -1, 1);
  expect(225.0, -1, -1);
  expect(315.0, 1, -1);
}

TEST(NearestDirection, KeepsItsStatedTolerance)
{
  int within = 0;
  int all = 0;
  for (double degrees = -180.0; degrees < 180.0; degrees += 0.037) {
    const WaveDirection direction = nearest_direction(degrees * degree);
    EXPECT_EQ(std::gcd(direction.x, direction.y), 1);
    EXPECT_LE(direction.major(), 60);
    const double off = std::abs(
        std::remainder(direction.angle() - degrees * degree, 2.0 * std::numbers::pi));
    const bool beside_axis = std::abs(std::remainder(degrees, 90.0)) < 1.0;
    EXPECT_LE(off, (beside_axis ? 0.48 : 0.25) * degree) << degrees;
    within += off <= 0.1 * degree ? 1 : 0;
    ++all;
  }
  EXPECT_GT(within, 0.96 * all);
}

TEST(NearestDirection, TakesTheSmallestNumbersWithinTheTolerance)
{
  // tan(30 deg) = 0.57735: 4/7 is 0.26 deg off, 11/19 is 0.07 deg off.
  EXPECT_EQ(nearest_direction(30.0 * degree).x, 19);
  EXPECT_EQ(nearest_direction(30.0 * degree).y, 11);
  EXPECT_EQ(nearest_direction(30.0 * degree, {0.3 * degree, 60}).x, 7);
  EXPECT_EQ(nearest_direction(-60.0 * degree, {0.3 * degree, 60}).y, -7);
}

TEST(NearestDirection, WantsANumber)
{
  EXPECT_THROW(
      static_cast<void>(nearest_direction(std::numeric_limits<double>::quiet_NaN())),
      std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
