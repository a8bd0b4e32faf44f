// Mixing by area, the way out through the absorber, and the permittivity of the scheme.

#include "solver/medium.hpp"

#include <cmath>
#include <complex>
#include <numeric>
#include <stdexcept>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

materials::DebyePalette three_media()
{
  materials::DebyePalette palette;
  palette.relaxation_times = {1e-11, 5e-10};
  palette.media.resize(3);
  palette.media[0] = {"air", false, 1.0, 0.0, {0.0, 0.0}};
  palette.media[1] = {"tissue", false, 5.0, 0.8, {40.0, 8.0}};
  palette.media[2] = {"metal", true, 1.0, 0.0, {0.0, 0.0}};
  return palette;
}

geometry::TissueMap one_row(std::vector<geometry::Mixture> palette)
{
  geometry::TissueMap map;
  map.raster = {static_cast<int>(palette.size()), 1, 1e-3, {}};
  map.tissues = {"air", "tissue", "metal"};
  map.palette = std::move(palette);
  map.cells.resize(map.palette.size());
  std::iota(map.cells.begin(), map.cells.end(), std::uint16_t{0});
  return map;
}

TEST(BuildMedium, AveragesByArea)
{
  const Medium medium =
      build_medium(one_row({{{0, 64}, {1, 192}}, {{1, 256}}}), three_media(), 0);
  const MediumEntry& mixed = medium.palette[0];
  EXPECT_DOUBLE_EQ(mixed.eps_inf, 0.25 + 0.75 * 5.0);
  EXPECT_DOUBLE_EQ(mixed.conductivity, 0.6);
  EXPECT_DOUBLE_EQ(mixed.strengths[0], 30.0);
  EXPECT_DOUBLE_EQ(mixed.strengths[1], 6.0);
  EXPECT_EQ(medium.palette[1].eps_inf, 5.0);
  EXPECT_EQ(medium.palette[1].conductivity, 0.8);
  EXPECT_EQ(medium.relaxation_times, three_media().relaxation_times);
}

TEST(BuildMedium, TakesHalfAConductorForAConductorAndLeavesOutLess)
{
  const Medium medium = build_medium(
      one_row({{{0, 128}, {2, 128}}, {{0, 43}, {1, 86}, {2, 127}}, {{2, 256}}}),
      three_media(), 0);
  EXPECT_TRUE(medium.palette[0].conductor);
  EXPECT_FALSE(medium.palette[0].has_poles());
  EXPECT_FALSE(medium.palette[1].conductor);
  // What is left, 43 to 86, fills the cell.
  EXPECT_NEAR(medium.palette[1].eps_inf, (1.0 + 2.0 * 5.0) / 3.0, 1e-14);
  EXPECT_NEAR(medium.palette[1].conductivity, 0.8 * 2.0 / 3.0, 1e-14);
  EXPECT_TRUE(medium.palette[1].has_poles());
  EXPECT_TRUE(medium.palette[2].conductor);
}

TEST(BuildMedium, CarriesTheCellsAtTheInnerFaceStraightOut)
{
  geometry::TissueMap map;
  map.raster = {9, 8, 1e-3, {}};
  map.tissues = {"air", "tissue", "metal"};
  map.palette.assign(72, {{0, 256}});
  for (std::uint16_t p = 0; p < 72; ++p) {
    map.cells.push_back(p);
  }
  const int depth = 3;
  const Medium medium = build_medium(map, three_media(), depth);
  for (int j = 0; j < 8; ++j) {
    for (int i = 0; i < 9; ++i) {
      const int from_i = std::min(std::max(i, depth), 9 - 1 - depth);
      const int from_j = std::min(std::max(j, depth), 8 - 1 - depth);
      EXPECT_EQ(medium.cells[map.raster.at(i, j)],
                map.cells[map.raster.at(from_i, from_j)])
          << i << " " << j;
    }
  }
}

TEST(BuildMedium, NeedsAMediumForEachTissue)
{
  materials::DebyePalette media = three_media();
  media.media.pop_back();
  EXPECT_THROW((void)build_medium(one_row({{{0, 256}}}), media, 0),
               std::invalid_argument);
}

TEST(DiscretePermittivity, IsThatOfTheUpdateWithZInsteadOfTime)
{
  // d/dt -> (2/dt)(z - 1)/(z + 1), z = e^(j w dt).
  const double dt = 2.3e-12;
  const double f = 2.45e9;
  const std::vector<double> tau = scenes::times(4);
  const MediumEntry wet = scenes::wet(4);
  const Complex z = std::polar(1.0, materials::two_pi * f * dt);
  const Complex rate = 2.0 / dt * (z - 1.0) / (z + 1.0);
  Complex eps = wet.eps_inf + wet.conductivity / (rate * materials::vacuum_permittivity);
  for (std::size_t k = 0; k < tau.size(); ++k) {
    eps += wet.strengths[k] / (1.0 + rate * tau[k]);
  }
  const Complex ours = discrete_permittivity(wet, tau, f, dt);
  EXPECT_LT(std::abs(ours - eps), 1e-12 * std::abs(eps));
  EXPECT_LT(ours.imag(), 0.0);
}

TEST(DiscretePermittivity, IsTheMediumsOwnForSmallStepsToSecondOrder)
{
  const double f = 2.45e9;
  const std::vector<double> tau = scenes::times(2);
  const MediumEntry wet = scenes::wet(2);
  const materials::FittedMedium same{"wet", false, wet.eps_inf, wet.conductivity,
                                     wet.strengths};
  const Complex exact = materials::relative_permittivity(same, tau, f);
  const double coarse = std::abs(discrete_permittivity(wet, tau, f, 4e-12) - exact);
  const double fine = std::abs(discrete_permittivity(wet, tau, f, 2e-12) - exact);
  EXPECT_LT(coarse, 1e-3 * std::abs(exact));
  EXPECT_NEAR(coarse / fine, 4.0, 0.01);
}

TEST(DiscreteOmega, IsTheLeapfrogs)
{
  const double dt = 2.3e-12;
  const double f = 2.45e9;
  const Complex z = std::polar(1.0, materials::two_pi * f * dt);
  // (z^(1/2) - z^(-1/2))/dt = j Omega.
  const Complex rate = (std::sqrt(z) - 1.0 / std::sqrt(z)) / dt;
  EXPECT_NEAR(discrete_omega(f, dt), rate.imag(), 1e-9 * rate.imag());
}

}  // namespace
}  // namespace torsowave::solver
