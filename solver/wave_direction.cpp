#include "solver/wave_direction.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <numeric>
#include <stdexcept>

namespace torsowave::solver {

double WaveDirection::angle() const noexcept
{
  return std::atan2(y, x);
}

double WaveDirection::length() const noexcept
{
  return std::hypot(x, y);
}

int WaveDirection::major() const noexcept
{
  return std::max(std::abs(x), std::abs(y));
}

WaveDirection nearest_direction(double angle, const DirectionLimits& limits)
{
  if (!std::isfinite(angle)) {
    throw std::invalid_argument("the angle of a plane wave must be finite");
  }
  const double c = std::abs(std::cos(angle));
  const double s = std::abs(std::sin(angle));
  const double slope = std::min(c, s) / std::max(c, s);
  WaveDirection best;
  double least = std::numeric_limits<double>::infinity();
  for (int major = 1; major <= limits.largest && least > limits.tolerance; ++major) {
    const int minor = static_cast<int>(std::lround(major * slope));
    const double off = std::abs(std::atan2(minor, major) - std::atan(slope));
    if (std::gcd(major, minor) == 1 && off < least) {
      least = off;
      best = c >= s ? WaveDirection{major, minor} : WaveDirection{minor, major};
    }
  }
  best.x = std::cos(angle) < 0.0 ? -best.x : best.x;
  best.y = std::sin(angle) < 0.0 ? -best.y : best.y;
  return best;
}

}  // namespace torsowave::solver
