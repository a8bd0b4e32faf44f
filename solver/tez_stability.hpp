/// \file
/// \brief Keeps a TEz medium stable with the time step chosen.
///
/// Leapfrog steps are stable with (c dt/dx)^2 lambda <= 4, lambda the largest eigenvalue
/// of M = C' (1/eps_inf) C on Hz, C the differences across the edges; in vacuum it is 8.
/// Each node has its part in M, between the four cells about it:
///   M = sum_n N_n,   N_n = G' S_n G/2,   S_n = sum_m v_m v_m'/eps_inf_m,
/// G the differences of the four cells across the four edges, S_n diagonal where there is
/// no tensor. For any positive vector x
///   lambda <= max_c sum_n (|N_n| x)_c/x_c
/// (L. Collatz, Math. Z. 48 (1942) 221, from memory): in vacuum, with equal x, that is 8
/// exactly. So stability is certain once some x keeps all cells to 4/(c dt/dx)^2. Beside
/// an interface a cell can have more than vacuum's share, as its neighbours on the dense
/// side have far less: these get a smaller x.

#pragma once

#include "geometry/tissue_map.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::solver {

/// Looks for such an x; where none is found, scales the vectors of the nodes about the
/// cell down by as little as keeps it to the bound.
/// \param dt  [s], at most that at which vacuum is stable
/// \return    how many nodes were scaled
int keep_stable(TezMedium& medium, const geometry::Raster& raster, double dt);

}  // namespace torsowave::solver
