/// \file
/// \brief Fills a plan's grid: the slice cut into cells, the media that are stepped, and
/// for TEz the edges and nodes.
///
/// With `grid.dispersion: corrected` each medium with losses is corrected for the
/// differences that its waves meet: those of one row in mode 1D; in TEz the averaged ones
/// (solver::TezMedium::x_averaged), unless such a medium reaches the absorber, where
/// nothing is averaged; else the plain ones.

#pragma once

#include <vector>

#include "app/run_plan.hpp"
#include "geometry/shape.hpp"

namespace torsowave::app {

/// Shapes of the body; in mode 1D the layers as rectangles across one row of cells.
[[nodiscard]] std::vector<geometry::Shape> shapes_of(const scenarios::Scenario& scenario);

/// Sets map, source cell, stencil, stepped and tez of a plan that has the rest.
void fill_grid(RunPlan& plan);

}  // namespace torsowave::app
