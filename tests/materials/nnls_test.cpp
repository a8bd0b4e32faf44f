#include "materials/nnls.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <random>

namespace torsowave::materials {
namespace {

double entry(const SmallSystem& system, std::size_t row, std::size_t column)
{
  return system.matrix[column * system.unknowns + row];
}

/// The Karush-Kuhn-Tucker conditions, which make a point the minimum of this convex
/// problem: x >= 0, gradient A^T (b - A x) <= 0, and zero wherever x > 0.
void expect_optimal(const SmallSystem& system, double tolerance)
{
  const auto x = non_negative_least_squares(system);
  const auto n = system.unknowns;
  std::array<double, max_unknowns> residual = system.right;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      residual[i] -= entry(system, i, j) * x[j];
    }
  }
  for (std::size_t j = 0; j < n; ++j) {
    double gradient = 0.0;
    for (std::size_t i = 0; i < n; ++i) {
      gradient += entry(system, i, j) * residual[i];
    }
    EXPECT_GE(x[j], 0.0);
    EXPECT_LE(gradient, tolerance);
    if (x[j] > 0.0) {
      EXPECT_NEAR(gradient, 0.0, tolerance);
    }
  }
}

TEST(Nnls, RandomSystemsEndAtTheOptimum)
{
  std::mt19937 random(7);
  std::normal_distribution<double> normal;
  for (std::size_t trial = 0; trial < 2000; ++trial) {
    SmallSystem system;
    system.unknowns = 1 + trial % max_unknowns;
    for (double& value : system.matrix) {
      value = normal(random);
    }
    for (double& value : system.right) {
      value = normal(random);
    }
    expect_optimal(system, 1e-11);
  }
}

TEST(Nnls, NearlyDependentColumnsEndAtTheOptimum)
{
  // Columns like those of overlapping relaxations: 1/(1 + (i t_j)^2) with close t_j.
  for (const double ratio : {1.5, 1.1, 1.01, 1.0}) {
    SmallSystem system;
    system.unknowns = max_unknowns;
    for (std::size_t j = 0; j < max_unknowns; ++j) {
      for (std::size_t i = 0; i < max_unknowns; ++i) {
        const double x =
            0.3 * static_cast<double>(i + 1) * std::pow(ratio, static_cast<double>(j));
        system.matrix[j * max_unknowns + i] = 1.0 / (1.0 + x * x);
        system.right[i] = std::sqrt(1.0 / (1.0 + x));
      }
    }
    expect_optimal(system, 1e-10);
  }
}

TEST(Nnls, RecoversAnExactNonNegativeSolution)
{
  // 2x2 by hand: [2 1; 0 3] (1.5, 0.5) = (3.5, 1.5).
  SmallSystem system;
  system.unknowns = 2;
  system.matrix = {2.0, 0.0, 1.0, 3.0};
  system.right = {3.5, 1.5};
  const auto x = non_negative_least_squares(system);
  EXPECT_NEAR(x[0], 1.5, 1e-14);
  EXPECT_NEAR(x[1], 0.5, 1e-14);
}

TEST(Nnls, HoldsAtZeroWhatWouldBeNegative)
{
  // Identity: the answer is max(b, 0), and the places beyond the unknowns stay zero.
  SmallSystem system;
  system.unknowns = 2;
  system.matrix = {1.0, 0.0, 0.0, 1.0};
  system.right = {-2.0, 3.0};
  const std::array<double, max_unknowns> expected{0.0, 3.0, 0.0, 0.0, 0.0, 0.0};
  EXPECT_EQ(non_negative_least_squares(system), expected);
}

}  // namespace
}  // namespace torsowave::materials
