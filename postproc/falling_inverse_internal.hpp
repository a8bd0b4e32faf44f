/// \file
/// \brief Where a falling function takes a value (private).

#pragma once

#include <numeric>

namespace torsowave::postproc {

/// x in [low, high] with f(x) = value, by bisection. 100 halvings leave less than the
/// rounding of x for every range that is used here. An end, if the value is not between.
/// \param f  never rises
template <typename Function>
[[nodiscard]] double falling_inverse(const Function& f, double value, double low,
                                     double high)
{
  for (int halving = 0; halving < 100; ++halving) {
    const double middle = std::midpoint(low, high);
    (f(middle) > value ? low : high) = middle;
  }
  return std::midpoint(low, high);
}

}  // namespace torsowave::postproc
