/// \file
/// \brief Small grids and invented media for the solver's tests.

#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/medium.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::solver::scenes {

/// Relaxation times like those of fitted tissue [s].
inline std::vector<double> times(int poles)
{
  const std::vector<double> all{8.6e-12, 41e-12, 518e-12, 2.1e-9};
  return {all.begin(), all.begin() + poles};
}

/// Wet tissue: high permittivity, most of it in the first term.
inline MediumEntry wet(int poles)
{
  const std::vector<double> all{38.0, 5.0, 6.0, 9.0};
  return {false, 6.0, 0.7, {all.begin(), all.begin() + poles}};
}

/// Fatty tissue.
inline MediumEntry fatty(int poles)
{
  const std::vector<double> all{2.1, 0.4, 0.5, 0.3};
  return {false, 2.9, 0.05, {all.begin(), all.begin() + poles}};
}

inline MediumEntry air(int poles)
{
  return {false, 1.0, 0.0, std::vector<double>(static_cast<std::size_t>(poles), 0.0)};
}

struct Scene {
  Grid grid;
  Medium medium;
  AbsorberSpec absorber;

  template <class Real>
  [[nodiscard]] TmzStepper<Real> stepper(const StepperOptions& options = {}) const
  {
    return TmzStepper<Real>(grid, medium, absorber, options);
  }
  [[nodiscard]] std::uint16_t& cell(int i, int j)
  {
    return medium.cells[grid.raster.at(i, j)];
  }
  [[nodiscard]] const MediumEntry& entry(int i, int j) const
  {
    return medium.palette[medium.cells[grid.raster.at(i, j)]];
  }
};

/// A grid of 1 mm cells that holds palette entry 0 throughout.
inline Scene uniform(int nx, int ny, int absorbing_cells, std::vector<double> times,
                     std::vector<MediumEntry> palette)
{
  Scene scene;
  scene.grid.raster = {nx, ny, 1e-3, {-0.5e-3 * nx, -0.5e-3 * ny}};
  scene.grid.time_step = stable_time_step(1e-3, 0.99);
  scene.grid.absorbing_cells = absorbing_cells;
  scene.absorber.cells = absorbing_cells;
  scene.medium = {std::move(times), std::move(palette),
                  std::vector<std::uint16_t>(scene.grid.raster.size(), 0)};
  return scene;
}

/// Air above, wet tissue below and fat between them, all running into the absorber, with
/// a column of fat that reaches two corners and a few single cells.
inline Scene layered(int nx, int ny, int absorbing_cells, int poles)
{
  Scene scene = uniform(nx, ny, absorbing_cells, times(poles),
                        {air(poles), wet(poles), fatty(poles)});
  for (int j = 0; j < ny; ++j) {
    for (int i = 0; i < nx; ++i) {
      if (j < ny / 2) {
        scene.cell(i, j) = 1;
      }
      if ((j >= ny / 2 && j < ny / 2 + 4) || i < nx / 5) {
        scene.cell(i, j) = 2;
      }
      if (i % 11 == 3 && j % 7 == 2) {
        scene.cell(i, j) = 1;
      }
    }
  }
  return scene;
}

}  // namespace torsowave::solver::scenes
