// The grid's mean wave, and the correction of the media for it.

#include "solver/grid_dispersion.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <stdexcept>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "materials/tissue.hpp"
#include "solver/grid.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::speed_of_light;
using materials::two_pi;

const Complex tissue{52.7, -12.7};

TEST(GridPermittivity, IsABesselFunctionWithoutLoss)
{
  // The mean of sin^2(z cos(phi)/2) + sin^2(z sin(phi)/2) over all directions is
  // 1 - J0(z), by Bessel's integral (NIST Digital Library of Mathematical Functions,
  // 10.9.1, from memory).
  const double eps = 41.0;
  const double dt = 1.1e-12;
  for (const double f : {0.4e9, 2.45e9, 5.8e9}) {
    for (const double cell : {0.5e-3, 1e-3, 2e-3}) {
      const double z = two_pi * f / speed_of_light * std::sqrt(eps) * cell;
      const double omega = discrete_omega(f, dt) / speed_of_light;
      const double expected =
          4.0 * (1.0 - std::cyl_bessel_j(0.0, z)) / std::pow(cell * omega, 2);
      EXPECT_NEAR(grid_permittivity(eps, f, cell, dt).real(), expected, 1e-9 * eps);
      const double gain = z / (2.0 * std::cyl_bessel_j(1.0, z));
      EXPECT_NEAR(source_gain(RadiatorKind::line_current, eps, f, cell, 1e-18).real(),
                  gain, 1e-12)
          << f << " " << cell;
    }
  }
}

/// What is left of eps_grid/eps after its leading terms.
double remainder(double size, double step)
{
  const double f = 2.45e9;
  const Complex kd = two_pi * f / speed_of_light * std::sqrt(tissue) * size;
  const double wdt = two_pi * f * step;
  const Complex leading = 1.0 - kd * kd / 16.0 + wdt * wdt / 12.0;
  return std::abs(grid_permittivity(tissue, f, size, step) / tissue - leading);
}

TEST(GridPermittivity, HasTheLeadingTermsOfTheRelation)
{
  const double size = 0.5e-3;
  const double step = stable_time_step(size, 0.99);
  EXPECT_LT(remainder(size, step), 1e-4);
  EXPECT_NEAR(remainder(size, step) / remainder(0.5 * size, 0.5 * step), 16.0, 0.2);
}

/// |k/k0 - 1| in the worse of three directions, in the medium corrected for the stencil.
double wavenumber_error(Stencil stencil, double size)
{
  const double f = 2.45e9;
  const Grid grid{{90, 90, size, {}}, stable_time_step(size, 0.9), 12};
  const Complex eps = grid_permittivity(tissue, f, size, grid.time_step, stencil);
  const Complex exact = two_pi * f / speed_of_light * std::sqrt(tissue);
  double worst = 0.0;
  for (const double angle : {0.0, 0.3, 0.125 * two_pi}) {
    const Complex k = numerical_wavenumber(grid, angle, f, eps, stencil);
    worst = std::max(worst, std::abs(k / exact - 1.0));
  }
  return worst;
}

TEST(GridPermittivity, LeavesNoDirectionInTheAveragedStencil)
{
  // (k dx)^2/96 is left of the plain one, terms of fourth order of the averaged one.
  const double size = 0.5e-3;
  const double z = std::abs(two_pi * 2.45e9 / speed_of_light * std::sqrt(tissue) * size);
  EXPECT_NEAR(wavenumber_error(Stencil::plain, size), z * z / 96.0, 0.02 * z * z / 96.0);
  EXPECT_LT(wavenumber_error(Stencil::averaged, size), 0.02 * z * z / 96.0);
  EXPECT_NEAR(wavenumber_error(Stencil::plain, size) /
                  wavenumber_error(Stencil::plain, 0.5 * size),
              4.0, 0.05);
  EXPECT_NEAR(wavenumber_error(Stencil::averaged, size) /
                  wavenumber_error(Stencil::averaged, 0.5 * size),
              16.0, 0.5);
}

TEST(SourceGain, OfADipoleInTheAveragedStencilDependsOnItsDirection)
{
  const auto gain = [](double direction, double cell) {
    return source_gain(RadiatorKind::dipole, tissue, 2.45e9, cell, 1e-12,
                       Stencil::averaged, direction);
  };
  const auto rest = [&](double cell) {
    const Complex kd = two_pi * 2.45e9 / speed_of_light * std::sqrt(tissue) * cell;
    return std::abs(gain(0.25 * two_pi, cell) - 1.0 - kd * kd / 24.0);
  };
  EXPECT_LT(std::abs(gain(0.0, 0.5e-3) - 1.0), 1e-14);
  EXPECT_LT(rest(0.5e-3), 2e-4);
  EXPECT_NEAR(rest(0.5e-3) / rest(0.25e-3), 16.0, 0.5);
  EXPECT_LT(
      std::abs(gain(0.125 * two_pi, 0.5e-3) - 0.5 * (1.0 + gain(0.25 * two_pi, 0.5e-3))),
      1e-14);
}

TEST(SourceGain, HasTheLeadingTermOfTheRelation)
{
  const auto rest = [](double cell) {
    const Complex kd = two_pi * 2.45e9 / speed_of_light * std::sqrt(tissue) * cell;
    return std::abs(source_gain(RadiatorKind::line_current, tissue, 2.45e9, cell, 1e-18) -
                    1.0 - kd * kd / 8.0);
  };
  EXPECT_LT(rest(0.5e-3), 1e-3);
  EXPECT_NEAR(rest(0.5e-3) / rest(0.25e-3), 16.0, 0.2);
}

constexpr double cell = 0.5e-3;
const double dt = stable_time_step(cell, 0.99);

GridCorrection request(const std::vector<double>& wanted)
{
  return {cell, dt, 0.8 * wanted.front(), 1.25 * wanted.back(), wanted};
}

/// Air, four tissues and a conductor, fitted over the band of `wanted`.
materials::DebyePalette fitted(const std::vector<double>& wanted, int poles)
{
  std::vector<materials::Tissue> tissues;
  for (const char* name :
       {"air", "muscle", "fat_not_infiltrated", "blood", "bone_cortical"}) {
    tissues.push_back(*materials::find_tissue(name));
  }
  tissues.push_back({"metal", "Metal", materials::PerfectConductor{}, {}, "", ""});
  return materials::fit_debye(tissues,
                              {0.8 * wanted.front(), 1.25 * wanted.back(), poles, 0.05});
}

struct Residuals {
  double before = 0.0;  ///< smallest |eps_grid - eps|/|eps|
  double after = 0.0;   ///< largest that the correction leaves
};

Residuals residuals(const std::vector<double>& wanted, int poles)
{
  const materials::DebyePalette palette = fitted(wanted, poles);
  const materials::DebyePalette corrected = correct_for_grid(palette, request(wanted));
  Residuals r{1.0, 0.0};
  for (std::size_t m = 1; m < 5; ++m) {
    const materials::FittedMedium& medium = corrected.media[m];
    const MediumEntry entry{false, medium.eps_inf, medium.conductivity, medium.strengths};
    for (const double f : wanted) {
      const Complex eps =
          relative_permittivity(palette.media[m], palette.relaxation_times, f);
      const Complex target = grid_permittivity(eps, f, cell, dt);
      const Complex got = discrete_permittivity(entry, corrected.relaxation_times, f, dt);
      r.before = std::min(r.before, std::abs(target - eps) / std::abs(eps));
      r.after = std::max(r.after, std::abs(got - target) / std::abs(target));
    }
  }
  return r;
}

TEST(Correction, MeetsTheGridsMeanWaveWhereResultsAreWanted)
{
  // One medium has 2 + K unknowns: enough for one frequency with any K, and for a band of
  // a few with K >= 2.
  for (const int poles : {1, 2, 3}) {
    const Residuals one = residuals({2.45e9}, poles);
    EXPECT_GT(one.before, 1e-4) << poles;
    EXPECT_LT(one.after, 2e-5) << poles;
  }
  for (const int poles : {2, 3}) {
    const Residuals three = residuals({2.40e9, 2.45e9, 2.48e9}, poles);
    EXPECT_GT(three.before, 1e-4) << poles;
    EXPECT_LT(three.after, 2e-5) << poles;
  }
}

TEST(Correction, LeavesLittleWhereTermsAreTooFew)
{
  EXPECT_LT(residuals({2.40e9, 2.45e9, 2.48e9}, 1).after, 1e-4);
  // Frequencies far apart: a Debye medium cannot follow 1 - (k dx)^2/16 over a decade.
  EXPECT_LT(residuals({0.4035e9, 0.868e9, 2.45e9}, 2).after, 1e-3);
  EXPECT_LT(residuals({0.4035e9, 0.868e9, 2.45e9}, 3).after, 4e-4);
}

const std::vector<double> ism{2.40e9, 2.45e9, 2.48e9};

TEST(Correction, KeepsMediaPassive)
{
  for (const materials::FittedMedium& medium :
       correct_for_grid(fitted(ism, 2), request(ism)).media) {
    EXPECT_GE(medium.eps_inf, 1.0) << medium.tissue;
    EXPECT_GE(medium.conductivity, 0.0) << medium.tissue;
    for (const double strength : medium.strengths) {
      EXPECT_GE(strength, 0.0) << medium.tissue;
    }
  }
}

TEST(Correction, LeavesTransparentMediaAndConductorsAlone)
{
  const materials::DebyePalette palette = fitted(ism, 2);
  const materials::DebyePalette corrected = correct_for_grid(palette, request(ism));
  EXPECT_EQ(corrected.relaxation_times, palette.relaxation_times);
  for (const std::size_t m : {0U, 5U}) {
    EXPECT_EQ(corrected.media[m].conductor, palette.media[m].conductor);
    EXPECT_EQ(corrected.media[m].eps_inf, palette.media[m].eps_inf);
    EXPECT_EQ(corrected.media[m].conductivity, palette.media[m].conductivity);
    EXPECT_EQ(corrected.media[m].strengths, palette.media[m].strengths);
  }
  EXPECT_TRUE(corrected.media[5].conductor);
}

TEST(NumericalWavenumber, IsTheClosedFormOnAxesAndDiagonals)
{
  // K = (2/dx) sin(k dx/2) on an axis; on a diagonal x and y share it equally.
  const Grid grid{{90, 90, 1e-3, {}}, stable_time_step(1e-3, 0.9), 12};
  for (const Complex eps : {Complex(1.0), tissue}) {
    const Complex wanted =
        discrete_omega(5e9, grid.time_step) / speed_of_light * std::sqrt(eps);
    const Complex axis = 2.0 / 1e-3 * std::asin(0.5e-3 * wanted);
    const Complex diagonal =
        std::sqrt(8.0) / 1e-3 * std::asin(0.5e-3 * wanted / std::sqrt(2.0));
    for (int quarter = 0; quarter < 4; ++quarter) {
      const double angle = quarter * two_pi / 4.0;
      const Complex k = numerical_wavenumber(grid, angle, 5e9, eps);
      EXPECT_LT(std::abs(k - axis), 1e-13 * std::abs(axis));
      EXPECT_LT(
          std::abs(numerical_wavenumber(grid, angle + two_pi / 8.0, 5e9, eps) - diagonal),
          1e-13 * std::abs(diagonal));
      EXPECT_LE(k.imag(), 0.0);
    }
  }
}

TEST(NumericalWavenumber, HasItsLimits)
{
  const Grid grid{{90, 90, 1e-3, {}}, stable_time_step(1e-3, 0.9), 12};
  EXPECT_EQ(numerical_wavenumber(grid, 0.3, 0.0), Complex(0.0));
  // The wave lags: k > w/c, by (k dx)^2/24 on an axis for small steps in time.
  EXPECT_GT(numerical_wavenumber(grid, 0.0, 5e9).real(), two_pi * 5e9 / speed_of_light);
  EXPECT_THROW(static_cast<void>(numerical_wavenumber(grid, 0.0, 130e9)),
               std::domain_error);
}

}  // namespace
}  // namespace torsowave::solver
