#include "solver/grid_layers.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <numeric>

#include "materials/constants.hpp"
#include "solver/layered_medium.hpp"
#include "solver/textbook_layers.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using testing::lossy_layers;

constexpr double frequency = 2.45e9;

/// The lossy layers cut into cells that end at the faces; the time step tends to zero, so
/// that Omega is w and the permittivity that of continuous time.
GridLayers cut(double cell)
{
  const LayeredMedium medium = lossy_layers(frequency);
  GridLayers layers;
  layers.cell = cell;
  layers.omega = materials::two_pi * frequency;
  layers.first = medium.eps.front();
  layers.last = medium.eps.back();
  for (std::size_t i = 0; i < medium.layers(); ++i) {
    const auto cells = static_cast<std::size_t>(std::lround(medium.thickness[i] / cell));
    layers.eps.insert(layers.eps.end(), cells, medium.eps[i + 1]);
  }
  return layers;
}

double sum(const std::vector<double>& values)
{
  return std::accumulate(values.begin(), values.end(), 0.0);
}

/// Order of convergence when cells are cut in three, which keeps the cells' centres.
double order(double coarse, double fine)
{
  return std::log(coarse / fine) / std::log(3.0);
}

TEST(GridLayers, PlaneWaveConvergesToTheExactOneWithSecondOrder)
{
  const PlaneWaveAnswer exact = solve_plane_wave(lossy_layers(frequency), {});
  const auto error = [&](double cell) {
    const GridPlaneWave grid = solve_plane_wave(cut(cell));
    return std::array{std::abs(grid.reflection - exact.reflection),
                      std::abs(grid.transmission - exact.transmission),
                      std::abs(grid.transmittance - exact.transmittance)};
  };
  const auto coarse = error(0.25e-3);
  const auto fine = error(0.25e-3 / 3.0);
  for (std::size_t i = 0; i < coarse.size(); ++i) {
    EXPECT_LT(coarse[i], 5e-3);
    EXPECT_NEAR(order(coarse[i], fine[i]), 2.0, 0.05);
  }
}

TEST(GridLayers, CurrentSheetConvergesToTheExactOneWithSecondOrder)
{
  const auto error = [&](double cell) {
    const GridLayers layers = cut(cell);
    const double x = 6.125e-3;  // a cell's centre
    const auto at = static_cast<std::size_t>(std::floor(x / cell));
    const CurrentSheetAnswer exact = solve_current_sheet(lossy_layers(frequency), {}, x);
    const GridCurrentSheet grid = solve_current_sheet(layers, at);
    return std::array{std::abs(grid.delivered - exact.delivered) / exact.delivered,
                      std::abs(grid.into_first - exact.into_first) / exact.delivered,
                      std::abs(grid.into_last - exact.into_last) / exact.delivered};
  };
  const auto coarse = error(0.25e-3);
  const auto fine = error(0.25e-3 / 3.0);
  for (std::size_t i = 0; i < coarse.size(); ++i) {
    EXPECT_LT(coarse[i], 5e-3);
    EXPECT_NEAR(order(coarse[i], fine[i]), 2.0, 0.05);
  }
}

/// The residual of both equations at every cell and edge, the waves outside included.
TEST(GridLayers, ObeysTheEquationsOfTheScheme)
{
  const GridLayers layers = cut(0.5e-3);
  const std::size_t source = 10;
  const GridFields f = solve_current_sheet(layers, source).fields;
  const Complex j{0.0, 1.0};
  for (std::size_t i = 0; i < layers.eps.size(); ++i) {
    const Complex current = i == source ? 1.0 / layers.cell : 0.0;
    const Complex left =
        j * layers.omega * materials::vacuum_permittivity * layers.eps[i] * f.e[i];
    const Complex right = (f.h[i + 1] - f.h[i]) / layers.cell - current;
    EXPECT_LT(std::abs(left - right), 1e-11 / layers.cell);
  }
  for (std::size_t e = 1; e < layers.eps.size(); ++e) {
    const Complex left = j * layers.omega * materials::vacuum_permeability * f.h[e];
    const Complex right = (f.e[e] - f.e[e - 1]) / layers.cell;
    EXPECT_LT(std::abs(left - right), 1e-11 * std::abs(f.e[source]) / layers.cell);
  }
}

/// In a uniform grid there is no reflection, and a wave obeys the dispersion relation.
TEST(GridLayers, AUniformRowIsTransparent)
{
  GridLayers layers;
  layers.cell = 3e-3;
  layers.omega = materials::two_pi * frequency;
  layers.eps.assign(40, Complex{9.0, -1.0});
  layers.first = layers.eps.front();
  layers.last = layers.eps.front();
  const GridPlaneWave a = solve_plane_wave(layers);
  EXPECT_LT(std::abs(a.reflection), 1e-13);
  const Complex k =
      Complex{0.0, 1.0} * std::log(a.fields.e[20] / a.fields.e[19]) / layers.cell;
  const Complex sine = std::sin(0.5 * k * layers.cell);
  const Complex relation =
      std::pow(0.5 * layers.omega * layers.cell / materials::speed_of_light, 2) *
      layers.eps.front();
  EXPECT_LT(std::abs(sine * sine - relation), 1e-14);
  EXPECT_LT(k.imag(), 0.0);
  EXPECT_NEAR(std::abs(a.transmission - std::exp(Complex{0.0, -40.0} * k * layers.cell)),
              0.0, 1e-13);
}

TEST(GridLayers, PowerBalancesExactly)
{
  const GridPlaneWave wave = solve_plane_wave(cut(0.5e-3));
  const double absorbed = sum(wave.fields.heat) / wave.incident_flux;
  EXPECT_NEAR(wave.reflectance + absorbed + wave.transmittance, 1.0, 1e-12);
  EXPECT_NEAR(wave.entering, 1.0 - wave.reflectance, 1e-12);
  const GridCurrentSheet sheet = solve_current_sheet(cut(0.5e-3), 20);
  EXPECT_NEAR(
      (sheet.into_first + sum(sheet.fields.heat) + sheet.into_last) / sheet.delivered,
      1.0, 1e-12);
}

TEST(GridLayers, SheetsAreReciprocal)
{
  const GridLayers layers = cut(0.5e-3);
  const Complex there = solve_current_sheet(layers, 2).fields.e[30];
  const Complex back = solve_current_sheet(layers, 30).fields.e[2];
  EXPECT_LT(std::abs(there - back) / std::abs(back), 1e-12);
}

TEST(GridLayers, ThickLossyRowsDoNotOverflow)
{
  GridLayers layers = cut(0.5e-3);
  layers.eps.assign(100'000, Complex{52.7, -12.7});  // 50 m, about 2000 skin depths
  const GridPlaneWave a = solve_plane_wave(layers);
  const double absorbed = sum(a.fields.heat) / a.incident_flux;
  EXPECT_NEAR(a.reflectance + absorbed, 1.0, 1e-10);
  EXPECT_EQ(a.transmittance, 0.0);
}

TEST(GridLayers, AConductorBehindTheRowReflectsAll)
{
  GridLayers layers = cut(0.5e-3);
  layers.conductor_last = true;
  const GridPlaneWave a = solve_plane_wave(layers);
  EXPECT_NEAR(a.reflectance + sum(a.fields.heat) / a.incident_flux, 1.0, 1e-12);
  EXPECT_LT(std::abs(a.transmittance), 1e-15);
}

/// The row of a medium, with its own discrete permittivity.
TEST(GridLayers, TakesTheRowOfAMedium)
{
  Medium medium;
  medium.relaxation_times = {8e-12};
  MediumEntry air;
  air.strengths = {0.0};
  MediumEntry water;
  water.eps_inf = 5.0;
  water.conductivity = 0.4;
  water.strengths = {70.0};
  MediumEntry wall;
  wall.conductor = true;
  medium.palette = {air, water, wall};
  medium.cells = {2, 0, 0, 1, 1, 1};
  const double dt = 0.8e-12;
  const GridLayers layers = grid_layers(medium, 0.5e-3, dt, frequency);
  EXPECT_TRUE(layers.conductor_first);
  EXPECT_FALSE(layers.conductor_last);
  EXPECT_EQ(layers.first_cell, 1U);
  ASSERT_EQ(layers.eps.size(), 5U);
  EXPECT_EQ(layers.omega, discrete_omega(frequency, dt));
  EXPECT_EQ(layers.last,
            discrete_permittivity(water, medium.relaxation_times, frequency, dt));
  medium.cells = {0, 2, 1};
  EXPECT_THROW(static_cast<void>(grid_layers(medium, 0.5e-3, dt, frequency)),
               std::invalid_argument);
  medium.cells = {2, 2};
  EXPECT_THROW(static_cast<void>(grid_layers(medium, 0.5e-3, dt, frequency)),
               std::invalid_argument);
}

TEST(GridLayers, RefusesWhatHasNoWave)
{
  GridLayers layers = cut(0.5e-3);
  layers.conductor_first = true;
  EXPECT_THROW(static_cast<void>(solve_plane_wave(layers)), std::invalid_argument);
  EXPECT_NO_THROW(static_cast<void>(solve_current_sheet(layers, 3)));
  EXPECT_THROW(static_cast<void>(solve_current_sheet(layers, 999)),
               std::invalid_argument);
  GridLayers coarse = cut(0.5e-3);
  coarse.cell = 0.1;  // more than a third of the wavelength in air
  EXPECT_THROW(static_cast<void>(solve_plane_wave(coarse)), std::invalid_argument);
  GridLayers active = cut(0.5e-3);
  active.eps[3] = {1.0, 0.1};
  EXPECT_THROW(static_cast<void>(solve_plane_wave(active)), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
