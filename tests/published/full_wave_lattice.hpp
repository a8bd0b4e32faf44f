/// \file
/// \brief What the grid itself makes of a line source in a homogeneous medium: exact.
///
/// The sums of a run obey the discrete Maxwell equations, so in an endless homogeneous
/// medium the field of the source's own cell is the lattice Green's function at its
/// origin,
///   E = -j Omega mu0 I G(z^2),  z = (Omega/c) sqrt(eps_d) dx,
///   G = mean over q_x, q_y of 1/(4 - 2 cos q_x - 2 cos q_y - z^2).
/// The mean over q_x is 1/sqrt(A^2 - 4) with A = 4 - 2 cos q_y - z^2; the other is taken
/// by the midpoint rule, which converges exponentially where the medium has losses.
/// (Derived here; the integral of 1/(A - 2 cos q) is I. S. Gradshteyn, I. M. Ryzhik,
/// *Table of Integrals, Series, and Products*, 3.613.1 with n = 0, from memory.)

#pragma once

#include <cstddef>
#include <string>

#include "app/run_plan.hpp"

namespace torsowave::reference {

/// Power [W/m] per (1 A)^2 that the run reports for its source if only this tissue of the
/// plan, which must have losses, is there.
[[nodiscard]] double lattice_source_power(const app::RunPlan& plan,
                                          const std::string& tissue,
                                          std::size_t frequency);

/// What the grid adds to the exact source power by the source's own cell [W/m].
///
/// It is second order times a logarithm, a (k dx)^2 + b (k dx)^2 ln(k dx), and can pass
/// through zero: with it taken off, what is left of a source power's error is second
/// order.
[[nodiscard]] double own_cell_excess(const app::RunPlan& plan, const std::string& tissue,
                                     std::size_t frequency);

}  // namespace torsowave::reference
