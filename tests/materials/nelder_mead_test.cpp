#include "materials/nelder_mead.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace torsowave::materials {
namespace {

TEST(NelderMead, FindsTheFootOfACurvedValley)
{
  // H. H. Rosenbrock, Computer Journal 3 (1960) 175: minimum 0 at (1, 1), usual start
  // (-1.2, 1).
  const auto valley = [](std::span<const double> x) {
    return 100.0 * std::pow(x[1] - x[0] * x[0], 2.0) + std::pow(1.0 - x[0], 2.0);
  };
  const std::array<double, 2> start{-1.2, 1.0};
  const Minimum found =
      nelder_mead(valley, start, {.step = 0.5, .tolerance = 1e-8, .evaluations = 1000});
  EXPECT_NEAR(found.point[0], 1.0, 1e-6);
  EXPECT_NEAR(found.point[1], 1.0, 1e-6);
  EXPECT_LT(found.value, 1e-12);
}

TEST(NelderMead, StopsAtTheLimitOfEvaluations)
{
  int calls = 0;
  const auto slope = [&](std::span<const double> x) {
    ++calls;
    return -x[0];
  };
  const std::array<double, 1> start{0.0};
  (void)nelder_mead(slope, start, {.step = 1.0, .tolerance = 1e-9, .evaluations = 30});
  EXPECT_GE(calls, 30);
  EXPECT_LE(calls, 33);  // one step may finish what it began
}

TEST(NelderMead, ConstantFunctionEndsAtTheStart)
{
  const std::array<double, 3> start{1.0, 2.0, 3.0};
  const Minimum found = nelder_mead([](std::span<const double>) { return 5.0; }, start,
                                    {.step = 0.5, .tolerance = 1e-3, .evaluations = 500});
  EXPECT_EQ(found.point, std::vector<double>(start.begin(), start.end()));
}

}  // namespace
}  // namespace torsowave::materials
