/// \file
/// \brief What the grid makes of the power of a line current in its own cell.

#pragma once

#include <complex>

namespace torsowave::solver {

/// Power that a run reports for 1 A of line current, less that of an ideal filament, in
/// an endless homogeneous medium [W/m].
///
/// The field in the filament's cell is E = -j Omega mu0 I G, with the lattice's Green
/// function at its origin (docs/numerics.md, section 11), z^2 = (Omega/c)^2 eps_d dx^2,
///   G = K(k)/(pi w),  k = 2/w,  w = 2 - z^2/2
///     = (1/2 pi) (L + z^2 (L/8 - 1/16) + ...),  L = ln(sqrt(32)/z) - j pi/2,
/// K the complete elliptic integral of modulus k (T. Morita, T. Horiguchi, J. Math. Phys.
/// 12 (1971) 981-986, from memory; the expansion is derived here). Of the filament the
/// part that is not power, ln(1/z), has no limit, but its imaginary part has: Im L at z =
/// k dx. Powers are divided by the source's gain squared (grid_dispersion.hpp).
/// \param eps    true relative permittivity [1]
/// \param eps_d  discrete permittivity of what is stepped [1]
/// \param gain   that the results are divided by
[[nodiscard]] double own_cell_excess(std::complex<double> eps, std::complex<double> eps_d,
                                     std::complex<double> gain, double frequency,
                                     double cell, double dt);

}  // namespace torsowave::solver
