/// \file
/// \brief Small TEz scenes with interfaces in every direction.

#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "geometry/staggered_map.hpp"
#include "materials/debye_fit.hpp"
#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/tez_medium.hpp"
#include "solver/tez_stepper.hpp"

namespace torsowave::solver::scenes {

/// Invented media: air, wet tissue, fatty tissue, on `times`.
inline materials::DebyePalette three_media(const std::vector<double>& times)
{
  materials::DebyePalette media;
  media.relaxation_times = times;
  const std::vector<double> none(times.size(), 0.0);
  std::vector<double> wet = none;
  std::vector<double> fatty = none;
  if (!times.empty()) {
    wet[0] = 38.0;
    fatty[0] = 2.1;
    wet.back() += 9.0;
    fatty.back() += 0.3;
  }
  media.media = {{"air", false, 1.0, 0.0, none, 0.0, 0.0},
                 {"wet", false, 6.0, 0.7, wet, 0.0, 0.0},
                 {"fatty", false, 2.9, 0.05, fatty, 0.0, 0.0}};
  return media;
}

struct TezScene {
  Grid grid;
  AbsorberSpec absorber;
  TezMedium medium;

  template <class Real>
  [[nodiscard]] TezStepper<Real> stepper(const StepperOptions& options = {}) const
  {
    return TezStepper<Real>(grid, medium, absorber, options);
  }
};

/// A round body of wet tissue with a rind of fat and an air capsule off its centre; curls
/// are averaged.
inline TezScene round_body(int nx, int ny, double cell, int absorbing,
                           const std::vector<double>& times,
                           geometry::Averaging averaging = geometry::Averaging::volume)
{
  TezScene scene;
  scene.grid.raster = {nx, ny, cell, {-0.5 * nx * cell, -0.5 * ny * cell}};
  scene.grid.time_step = stable_time_step(cell, 0.99);
  scene.grid.absorbing_cells = absorbing;
  scene.absorber.cells = absorbing;
  const double radius = 0.3 * cell * std::min(nx, ny);
  const geometry::StaggeredMap map = geometry::cut_staggered(
      scene.grid.raster, "air",
      {{"wet", geometry::Circle{{0.3 * cell, 0.1 * cell}, radius}},
       {"fatty", geometry::Circle{{-0.2 * cell, 0.4 * cell}, 0.8 * radius}},
       {"wet", geometry::Circle{{-0.2 * cell, 0.4 * cell}, 0.6 * radius}}},
      {{"air", geometry::Circle{{0.25 * radius, -0.1 * radius}, 0.2 * radius}}},
      averaging, {1.0, 40.0, 5.0});
  scene.medium =
      build_tez_medium(map, three_media(times),
                       {absorbing, scene.grid.time_step, 0.3e9, 6e9, {}, -1, -1, true});
  return scene;
}

}  // namespace torsowave::solver::scenes
