#include "postproc/sar_dipole.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "materials/constants.hpp"
#include "postproc/sar_squares.hpp"

namespace torsowave::postproc {
namespace {

using Point3 = std::array<double, 3>;

/// Steps in ln(r) of the radial integrals, by Simpson's rule.
constexpr int radial_steps = 1024;

/// Points along the side of a face.
constexpr int face_points = 64;

/// Outward flux through a cube's faces of the vector r^ radial(r, cos^2)/r^2, by the
/// midpoint rule.
template <class Radial>
[[nodiscard]] double flux_out_of(const DipoleCube& cube, Radial radial)
{
  const double step = cube.side / face_points;
  double flux = 0.0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    for (const double sign : {-1.0, 1.0}) {
      Point3 p = cube.centre;
      p[axis] += sign * 0.5 * cube.side;
      const std::size_t u = (axis + 1) % 3;
      const std::size_t v = (axis + 2) % 3;
      for (int m = 0; m < face_points; ++m) {
        p[u] = cube.centre[u] + (m + 0.5) * step - 0.5 * cube.side;
        for (int n = 0; n < face_points; ++n) {
          p[v] = cube.centre[v] + (n + 0.5) * step - 0.5 * cube.side;
          const double square = p[0] * p[0] + p[1] * p[1] + p[2] * p[2];
          const double r = std::sqrt(square);
          flux += sign * p[axis] / (square * r) * radial(r, p[2] * p[2] / square);
        }
      }
    }
  }
  return flux * step * step;
}

/// The cube of this side that is pushed over the capsule from a direction until its
/// tissue has the volume that it should.
[[nodiscard]] DipoleCube pushed_over(const CapsuleHeat& heat, double radius, double side,
                                     double volume, const Point3& direction)
{
  constexpr int halvings = 24;
  double inside = 0.0;
  double outside = radius + side;
  DipoleCube cube{{}, side};
  for (int turn = 0; turn < halvings; ++turn) {
    const double distance = 0.5 * (inside + outside);
    for (std::size_t n = 0; n < 3; ++n) {
      cube.centre[n] = distance * direction[n];
    }
    (heat.tissue_in(cube) > volume ? outside : inside) = distance;
  }
  return cube;
}

}  // namespace

CapsuleHeat::CapsuleHeat(const solver::Capsule& capsule, double frequency, double reach)
    : radius_(capsule.radius),
      log_step_(std::log(std::max(reach / capsule.radius, 1.1)) / radial_steps)
{
  const solver::CapsuleDipole dipole(capsule, frequency);
  const double heating = 0.5 * materials::two_pi * frequency *
                         materials::vacuum_permittivity * -capsule.eps_tissue.imag() /
                         dipole.delivered();
  struct Heat {
    double along;
    double across;
  };
  const auto at = [&](double steps) {
    const double r = radius_ * std::exp(steps * log_step_);
    const solver::CapsuleDipoleField field = dipole.field(std::max(r, radius_));
    return Heat{heating * std::norm(field.e_r), heating * std::norm(field.e_theta)};
  };
  end_on_ = at(0.0).along;
  broadside_ = at(0.0).across;
  along_.push_back(0.0);
  across_.push_back(0.0);
  const auto weight = [&](double steps) {  // r^2 dr = r^3 d(ln r)
    return std::pow(radius_, 3) * std::exp(3.0 * steps * log_step_) * log_step_ / 6.0;
  };
  for (int n = 0; n < radial_steps; ++n) {
    double along = along_.back();
    double across = across_.back();
    for (const double part : {0.0, 0.5, 1.0}) {
      const Heat heat = at(n + part);
      const double share = weight(n + part) * (part == 0.5 ? 4.0 : 1.0);
      along += share * heat.along;
      across += share * heat.across;
    }
    along_.push_back(along);
    across_.push_back(across);
  }
}

double CapsuleHeat::until(double r, double cos_square) const
{
  if (r <= radius_) {
    return 0.0;
  }
  const double steps =
      std::min(std::log(r / radius_) / log_step_, static_cast<double>(radial_steps));
  const auto n = std::min(static_cast<std::size_t>(steps),
                          static_cast<std::size_t>(radial_steps - 1));
  const double part = steps - static_cast<double>(n);
  const auto between = [&](const std::vector<double>& sums) {
    return sums[n] + part * (sums[n + 1] - sums[n]);
  };
  return cos_square * between(along_) + (1.0 - cos_square) * between(across_);
}

double CapsuleHeat::share_in(const DipoleCube& cube) const
{
  return flux_out_of(
      cube, [this](double r, double cos_square) { return until(r, cos_square); });
}

double CapsuleHeat::tissue_in(const DipoleCube& cube) const
{
  const double hollow = std::pow(radius_, 3);
  return flux_out_of(cube, [hollow](double r, double) {
    return std::max(r * r * r - hollow, 0.0) / 3.0;
  });
}

HottestCube hottest_cube(const CapsuleHeat& heat, double radius, double volume,
                         double mass)
{
  const double sphere = 4.0 / 3.0 * std::numbers::pi * std::pow(radius, 3);
  const auto average = [&](const DipoleCube& cube) {
    return heat.share_in(cube) / mass * volume / heat.tissue_in(cube);
  };
  const double about = std::cbrt(volume + sphere);
  // The cube about the capsule has to be one that the capsule does not stick out of.
  if (sphere <= most_foreign_share * (volume + sphere)) {
    const DipoleCube cube{{}, about};
    return {cube, average(cube)};
  }
  const double half = std::sqrt(0.5);
  const double third = std::sqrt(1.0 / 3.0);
  HottestCube hottest;
  const double side = std::cbrt(volume / (1.0 - most_foreign_share));
  for (const Point3& direction :
       {Point3{0.0, 0.0, 1.0}, Point3{1.0, 0.0, 0.0}, Point3{half, 0.0, half},
        Point3{half, half, 0.0}, Point3{third, third, third}}) {
    const DipoleCube cube = pushed_over(heat, radius, side, volume, direction);
    const double value = average(cube);
    if (value > hottest.average) {
      hottest = {cube, value};
    }
  }
  return hottest;
}

CapsuleSar capsule_sar(const solver::Capsule& capsule, double frequency, double density)
{
  // No cube reaches farther: the capsule, and the diagonal of the one beside it.
  const double reach = capsule.radius + 4.0 * std::cbrt(ten_gram / density);
  const CapsuleHeat heat(capsule, frequency, reach);
  const HottestCube one =
      hottest_cube(heat, capsule.radius, one_gram / density, one_gram);
  const HottestCube ten =
      hottest_cube(heat, capsule.radius, ten_gram / density, ten_gram);
  CapsuleSar sar;
  sar.delivered = solver::CapsuleDipole(capsule, frequency).delivered();
  sar.local_end_on = heat.end_on() / density;
  sar.local_broadside = heat.broadside() / density;
  sar.one_gram = one.average;
  sar.one_gram_side = one.cube.side;
  sar.ten_gram = ten.average;
  sar.ten_gram_side = ten.cube.side;
  return sar;
}

}  // namespace torsowave::postproc
