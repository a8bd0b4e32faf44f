/// \file
/// \brief Small grids under a plane wave, in either polarisation, for the solver's tests.

#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <functional>
#include <memory>
#include <numbers>
#include <utility>
#include <vector>

#include "bench/textbook_tez_stepper.hpp"
#include "materials/constants.hpp"
#include "solver/plane_wave.hpp"
#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver::illumination {

inline constexpr double degree = std::numbers::pi / 180.0;

/// A pulse about 8 GHz, 20 dB down at 3 and 13 GHz, where a wavelength is 23 cells of 1
/// mm. Unlike pulse_waveform() it starts and ends where its envelope is below rounding:
/// a step of 1e-10 would leave as much in waves too short for the grid.
inline Waveform pulse()
{
  const double width = std::sqrt(2.0 * std::log(10.0)) / (std::numbers::pi * 10e9);
  const double middle = 9.0 * width;
  return {[=](double t) {
            const double u = t - middle;
            return std::exp(-0.5 * u * u / (width * width)) *
                   std::sin(2.0 * std::numbers::pi * 8e9 * u);
          },
          2.0 * middle, 15e9};
}

/// 20 log10 of a ratio of fields.
inline double decibel(double ratio)
{
  return 20.0 * std::log10(ratio);
}

/// Vacuum with an absorber of 12 cells and a box 21 to 22 cells from the rim.
inline scenes::Scene empty()
{
  return scenes::uniform(83, 74, 12, {}, {scenes::air(0)});
}

inline CellBox box()
{
  return {21, 60, 22, 51};
}

inline std::shared_ptr<PlaneWave> wave(const Grid& grid, Polarisation polarisation,
                                       double angle,
                                       std::function<double(double)> waveform)
{
  return std::make_shared<PlaneWave>(
      grid, PlaneWaveSpec{polarisation, box(), angle, std::move(waveform), {}});
}

/// Steps until the pulse has crossed the grid and its echoes would have come back.
inline long steps(const Grid& grid, const Waveform& waveform)
{
  const double crossing =
      4.0 * grid.raster.nx * grid.raster.cell / materials::speed_of_light;
  return std::lround((waveform.end + crossing) / grid.time_step);
}

/// Calls `look(step, e)` after each step of an empty grid under `wave`; e(i, j) is Ez or
/// eta0 Hz at a cell's centre [V/m].
template <class Look>
void run(const scenes::Scene& scene, const std::shared_ptr<PlaneWave>& wave,
         Polarisation polarisation, long steps, Look&& look)
{
  const Grid& grid = scene.grid;
  if (polarisation == Polarisation::tmz) {
    TmzStepper<double> stepper = scene.stepper<double>();
    stepper.add_injection(wave);
    for (long n = 1; n <= steps; ++n) {
      stepper.advance(1);
      look(n, [&](int i, int j) {
        return stepper.centre_row(j)[static_cast<std::size_t>(i)];
      });
    }
    return;
  }
  TezMedium medium;
  medium.palette = scene.medium.palette;
  medium.x_edges.assign(grid.raster.size() + static_cast<std::size_t>(grid.raster.nx), 0);
  medium.y_edges.assign(grid.raster.size() + static_cast<std::size_t>(grid.raster.ny), 0);
  bench::TextbookTezStepper stepper(grid, medium,
                                    absorber_along_x(scene.absorber, grid, scene.medium),
                                    absorber_along_y(scene.absorber, grid, scene.medium));
  stepper.add_injection(wave);
  for (long n = 1; n <= steps; ++n) {
    stepper.step();
    look(n, [&](int i, int j) { return materials::vacuum_impedance * stepper.hz(i, j); });
  }
}

/// Largest field outside the box over the largest inside, over the whole run [dB].
inline double leakage(Polarisation polarisation, double angle)
{
  const scenes::Scene scene = empty();
  const Waveform waveform = pulse();
  const CellBox in = box();
  double inside = 0.0;
  double outside = 0.0;
  run(scene, wave(scene.grid, polarisation, angle, waveform.current), polarisation,
      steps(scene.grid, waveform), [&](long, const auto& e) {
        for (int j = 0; j < scene.grid.raster.ny; ++j) {
          for (int i = 0; i < scene.grid.raster.nx; ++i) {
            const bool total =
                i >= in.first_i && i <= in.last_i && j >= in.first_j && j <= in.last_j;
            double& largest = total ? inside : outside;
            largest = std::max(largest, std::abs(e(i, j)));
          }
        }
      });
  return decibel(outside / inside);
}

}  // namespace torsowave::solver::illumination
