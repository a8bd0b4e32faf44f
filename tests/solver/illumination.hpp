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
#include <span>
#include <utility>
#include <vector>

#include "materials/constants.hpp"
#include "solver/plane_wave.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_stepper.hpp"
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

/// The dual of `scene`, which holds its palette entry 0 throughout.
inline TezMedium on_edges(const scenes::Scene& scene)
{
  const geometry::Raster& raster = scene.grid.raster;
  TezMedium medium;
  medium.relaxation_times = scene.medium.relaxation_times;
  medium.palette = scene.medium.palette;
  medium.x_edges.assign(raster.size() + static_cast<std::size_t>(raster.nx), 0);
  medium.y_edges.assign(raster.size() + static_cast<std::size_t>(raster.ny), 0);
  return medium;
}

/// An empty grid under `wave`, stepper and all.
template <class Real>
std::unique_ptr<YeeStepper<Real>> illuminated(const scenes::Scene& scene,
                                              const std::shared_ptr<PlaneWave>& wave,
                                              Polarisation polarisation)
{
  if (polarisation == Polarisation::tmz) {
    auto stepper = std::make_unique<TmzStepper<Real>>(scene.template stepper<Real>());
    stepper->add_injection(wave);
    return stepper;
  }
  auto stepper = std::make_unique<TezStepper<Real>>(scene.grid, on_edges(scene),
                                                    scene.absorber, StepperOptions{});
  stepper->add_injection(wave);
  return stepper;
}

/// What a stored value at a centre is worth as a field E [V/m]: Ez, or eta0 Hz.
template <class Real>
double electric_scale(const YeeStepper<Real>& stepper)
{
  return stepper.centre_scale() * (stepper.polarisation() == Polarisation::tmz
                                       ? 1.0
                                       : materials::vacuum_impedance);
}

/// Largest field outside the box over the largest inside, over the whole run [dB].
template <class Real>
double leakage(Polarisation polarisation, double angle)
{
  const scenes::Scene scene = empty();
  const Waveform waveform = pulse();
  const CellBox in = box();
  const auto stepper = illuminated<Real>(
      scene, wave(scene.grid, polarisation, angle, waveform.current), polarisation);
  double inside = 0.0;
  double outside = 0.0;
  for (long n = steps(scene.grid, waveform); n > 0; --n) {
    stepper->advance(1);
    for (int j = 0; j < scene.grid.raster.ny; ++j) {
      const std::span<const Real> row = stepper->centre_row(j);
      for (int i = 0; i < scene.grid.raster.nx; ++i) {
        const bool total =
            i >= in.first_i && i <= in.last_i && j >= in.first_j && j <= in.last_j;
        double& largest = total ? inside : outside;
        largest = std::max(largest, std::abs(double{row[static_cast<std::size_t>(i)]}));
      }
    }
  }
  return decibel(outside / inside);
}

}  // namespace torsowave::solver::illumination
