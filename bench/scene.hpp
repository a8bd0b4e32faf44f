/// \file
/// \brief What is stepped: the demo's slice on grids of other sizes.

#pragma once

#include <functional>
#include <optional>
#include <string>

#include "scenarios/scenario.hpp"
#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/medium.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::bench {

/// Everything that a stepper is made from.
struct Scene {
  solver::Grid grid;
  solver::AbsorberSpec absorber;
  solver::Medium medium;                 ///< modes TMz and 1D
  std::optional<solver::TezMedium> tez;  ///< mode TEz
  int source_i = 0;
  int source_j = 0;
  std::function<double(double)> current;
  int interval = 1;  ///< steps between two observations of a run

  [[nodiscard]] double cells() const { return static_cast<double>(grid.raster.size()); }
};

struct GridSize {
  int nx = 0;
  int ny = 0;
};

/// The demo's slice, cut into nx x ny cells of 358.4 mm/nx, with 12 cells of absorber
/// (fewer where they would reach the body), in single precision.
///
/// \param mode   TMz or TEz
/// \param poles  K; fewer than the demo's own 3 fit its tissues worse, for which the
///               bound on the error is lifted here; 0: the same grid without a body
[[nodiscard]] Scene demo_scene(const scenarios::Scenario& demo, scenarios::Mode mode,
                               GridSize size, int poles);

/// The planar layers of another demo over `cells` cells, K = 3.
[[nodiscard]] Scene layer_scene(const scenarios::Scenario& layers, int cells);

}  // namespace torsowave::bench
