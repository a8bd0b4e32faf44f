// The grid's mean wave, and the correction of the media for it.

#include "solver/grid_dispersion.hpp"

#include <cmath>
#include <complex>
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
      EXPECT_NEAR(source_gain(eps, f, cell).real(), gain, 1e-12) << f << " " << cell;
    }
  }
}

/// What is left of eps_grid/eps after its leading terms.
double remainder(double cell, double dt)
{
  const double f = 2.45e9;
  const Complex kd = two_pi * f / speed_of_light * std::sqrt(tissue) * cell;
  const double wdt = two_pi * f * dt;
  const Complex leading = 1.0 - kd * kd / 16.0 + wdt * wdt / 12.0;
  return std::abs(grid_permittivity(tissue, f, cell, dt) / tissue - leading);
}

TEST(GridPermittivity, HasTheLeadingTermsOfTheRelation)
{
  const double cell = 0.5e-3;
  const double dt = stable_time_step(cell, 0.99);
  EXPECT_LT(remainder(cell, dt), 1e-4);
  EXPECT_NEAR(remainder(cell, dt) / remainder(0.5 * cell, 0.5 * dt), 16.0, 0.2);
}

TEST(SourceGain, HasTheLeadingTermOfTheRelation)
{
  const auto rest = [](double cell) {
    const Complex kd = two_pi * 2.45e9 / speed_of_light * std::sqrt(tissue) * cell;
    return std::abs(source_gain(tissue, 2.45e9, cell) - 1.0 - kd * kd / 8.0);
  };
  EXPECT_LT(rest(0.5e-3), 1e-3);
  EXPECT_NEAR(rest(0.5e-3) / rest(0.25e-3), 16.0, 0.2);
}

struct Correction : testing::Test {
  const std::vector<double> wanted{2.40e9, 2.45e9, 2.48e9};
  const GridCorrection request{0.5e-3, stable_time_step(0.5e-3, 0.99), 0.8 * 2.40e9,
                               1.25 * 2.48e9, wanted};
  materials::DebyePalette palette;

  Correction()
  {
    std::vector<materials::Tissue> tissues;
    for (const char* name :
         {"air", "muscle", "fat_not_infiltrated", "blood", "bone_cortical"}) {
      tissues.push_back(*materials::find_tissue(name));
    }
    tissues.push_back({"metal", "Metal", materials::PerfectConductor{}, {}, "", ""});
    palette = materials::fit_debye(tissues, {request.band_from, request.band_to});
  }
};

TEST_F(Correction, MeetsTheGridsMeanWaveWhereResultsAreWanted)
{
  const materials::DebyePalette corrected = correct_for_grid(palette, request);
  for (std::size_t m = 1; m < 5; ++m) {
    const materials::FittedMedium& medium = corrected.media[m];
    const MediumEntry entry{false, medium.eps_inf, medium.conductivity, medium.strengths};
    for (const double f : wanted) {
      const Complex eps =
          relative_permittivity(palette.media[m], palette.relaxation_times, f);
      const Complex target = grid_permittivity(eps, f, request.cell, request.dt);
      const Complex got =
          discrete_permittivity(entry, corrected.relaxation_times, f, request.dt);
      EXPECT_LT(std::abs(got - target), 2e-5 * std::abs(target)) << medium.tissue << f;
      // The correction itself is far larger: this asserts something.
      EXPECT_GT(std::abs(target - eps), 2e-4 * std::abs(eps)) << medium.tissue << f;
    }
  }
}

TEST_F(Correction, KeepsMediaPassive)
{
  for (const materials::FittedMedium& medium : correct_for_grid(palette, request).media) {
    EXPECT_GE(medium.eps_inf, 1.0) << medium.tissue;
    EXPECT_GE(medium.conductivity, 0.0) << medium.tissue;
    for (const double strength : medium.strengths) {
      EXPECT_GE(strength, 0.0) << medium.tissue;
    }
  }
}

TEST_F(Correction, LeavesTransparentMediaAndConductorsAlone)
{
  const materials::DebyePalette corrected = correct_for_grid(palette, request);
  EXPECT_EQ(corrected.relaxation_times, palette.relaxation_times);
  for (const std::size_t m : {0U, 5U}) {
    EXPECT_EQ(corrected.media[m].conductor, palette.media[m].conductor);
    EXPECT_EQ(corrected.media[m].eps_inf, palette.media[m].eps_inf);
    EXPECT_EQ(corrected.media[m].conductivity, palette.media[m].conductivity);
    EXPECT_EQ(corrected.media[m].strengths, palette.media[m].strengths);
  }
  EXPECT_TRUE(corrected.media[5].conductor);
}

}  // namespace
}  // namespace torsowave::solver
