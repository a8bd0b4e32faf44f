/// \file
/// \brief Bodies and small helpers of the tests of the layered cylinder.

#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "materials/constants.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::reference {

namespace cylinder = solver::cylinder;
using Complex = std::complex<double>;

inline constexpr double mics = 403.5e6;
inline constexpr double ism = 2.45e9;

[[nodiscard]] inline double relative_difference(Complex value, Complex expected)
{
  return std::abs(value - expected) / std::abs(expected);
}

/// \param conductivity  [S/m]
[[nodiscard]] inline Complex lossy(double permittivity, double conductivity,
                                   double frequency)
{
  return {permittivity, -conductivity / (materials::two_pi * frequency *
                                         materials::vacuum_permittivity)};
}

[[nodiscard]] inline geometry::Point polar_point(double rho, double phi)
{
  return {rho * std::cos(phi), rho * std::sin(phi)};
}

/// A lossless capsule in muscle, fat and skin, in air; 403.5 MHz.
[[nodiscard]] inline cylinder::Body round_trunk()
{
  return {{{0.01, 3.0},
           {0.06, lossy(57.0, 0.80, mics)},
           {0.08, lossy(5.6, 0.04, mics)},
           {0.085, lossy(46.7, 0.69, mics)}},
          1.0};
}

/// A medium without end.
[[nodiscard]] inline cylinder::Body only(Complex eps_r)
{
  return {{}, eps_r};
}

[[nodiscard]] inline cylinder::Field field_on_circle(const cylinder::Solution& solution,
                                                     double rho, double phi)
{
  return solution.on_circle(rho, std::array{phi}).front();
}

[[nodiscard]] inline cylinder::FarField far_field_at(const cylinder::Solution& solution,
                                                     double phi)
{
  return solution.far_field(std::array{phi}).front();
}

/// Angles of `count` equal steps round the circle.
[[nodiscard]] inline std::vector<double> full_turn(int count)
{
  std::vector<double> angles;
  for (int n = 0; n < count; ++n) {
    angles.push_back(materials::two_pi * n / count);
  }
  return angles;
}

/// The larger of the relative differences of psi and of the transverse vector.
[[nodiscard]] inline double field_difference(const cylinder::Field& found,
                                             const cylinder::Field& expected)
{
  const double across = std::hypot(std::abs(expected.x), std::abs(expected.y));
  return std::max(
      relative_difference(found.z, expected.z),
      std::hypot(std::abs(found.x - expected.x), std::abs(found.y - expected.y)) /
          across);
}

}  // namespace torsowave::reference
