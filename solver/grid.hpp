/// \file
/// \brief The Yee grid of a TMz run: where each field component sits, and the time step.

#pragma once

#include "geometry/tissue_map.hpp"

namespace torsowave::solver {

/// Uniform square Yee cells (K. S. Yee, IEEE Trans. Antennas Propag. 14 (1966) 302-307).
///
/// Ez lies at the cell centres at times n dt. Hx lies on the horizontal cell edges (edge
/// e below row e, 0 <= e <= ny) and Hy on the vertical ones (edge e left of column e, 0
/// <= e <= nx), both at times (n + 1/2) dt. Beyond the rim Ez = 0: a conducting wall half
/// a cell outside.
///
/// A raster of one row is a one-dimensional grid: nothing varies along y, Hx = 0.
struct Grid {
  geometry::Raster raster;
  double time_step = 0.0;   ///< dt [s]
  int absorbing_cells = 0;  ///< thickness of the absorbing layer on each side

  [[nodiscard]] double time(long step) const noexcept
  {
    return static_cast<double>(step) * time_step;
  }
};

/// Cells first_i .. last_i by first_j .. last_j, the last ones included.
struct CellBox {
  int first_i = 0;
  int last_i = 0;
  int first_j = 0;
  int last_j = 0;
};

/// Largest stable time step of the scheme times `courant`: courant dx / (c sqrt d) in d
/// dimensions [s]. No medium is faster than vacuum (eps_inf >= 1), so vacuum sets the
/// limit. \see A. Taflove, S. C. Hagness, *Computational Electrodynamics*, 3rd ed., ch. 4
/// (from memory).
[[nodiscard]] double stable_time_step(double cell, double courant, int dimensions = 2);

}  // namespace torsowave::solver
