/// \file
/// \brief Planar layers on the numerical grid: the exact phasors of the 1-D Yee scheme.
///
/// One row of cells, E at the cell centres, H on the edges between them. With exp(+j w t)
/// the leapfrog obeys, exactly (docs/numerics.md, sections 4 and 9),
///
///   j Omega eps0 eps_i E_i = (H_(i+1) - H_i)/dx - J_i,   j Omega mu0 H_e = (E_e -
///   E_(e-1))/dx
///
/// with Omega = (2/dt) sin(w dt/2), eps_i the discrete permittivity of the cell and H =
/// Hy. Beyond the row one medium goes on for ever on each side; its waves exp(-j k x)
/// obey
///
///   sin^2(k dx/2) = (Omega dx/2)^2 mu0 eps0 eps,   Im k <= 0,
///
/// the 1-D dispersion relation of the scheme (A. Taflove, S. C. Hagness, *Computational
/// Electrodynamics*, 3rd ed., ch. 4, from memory; derived from the two equations above by
/// eliminating H). A full-wave run differs from this by rounding, by what it left in the
/// grid and by its absorber alone.

#pragma once

#include <complex>
#include <cstddef>
#include <vector>

#include "solver/medium.hpp"

namespace torsowave::solver {

/// A row of cells between two half-infinite media, at one frequency.
struct GridLayers {
  double cell = 0.0;                      ///< dx [m]
  double omega = 0.0;                     ///< Omega [rad/s], \see discrete_omega()
  std::vector<std::complex<double>> eps;  ///< eps_i [1] of cell 0 ... n - 1, Im <= 0,
                                          ///< \see discrete_permittivity()
  std::complex<double> first{1.0};        ///< of all cells left of them [1]
  std::complex<double> last{1.0};         ///< of all cells right of them [1]
  std::size_t first_cell = 0;             ///< number of cell 0 in the row of the run
  bool conductor_first = false;           ///< E = 0 in the cells left of them
  bool conductor_last = false;            ///< E = 0 in the cells right of them
};

/// The row of a 1-D run: cells 0 ... n - 1 of `medium`, whose outermost cells go on for
/// ever (as the absorber lets them). Conductors can be outermost only.
/// \throws std::invalid_argument  No cell that is no conductor, or one between others.
[[nodiscard]] GridLayers grid_layers(const Medium& medium, double cell, double dt,
                                     double frequency);

/// Fields on the row: E at the n cells, H at the n + 1 edges (edge e left of cell e).
struct GridFields {
  std::vector<std::complex<double>> e;  ///< [V/m]
  std::vector<std::complex<double>> h;  ///< Hy [A/m]
  std::vector<double> flux;  ///< along +x through each edge [W/m^2]: -1/2 Re(mean(E) H*),
                             ///< which balances exactly
  std::vector<double> heat;  ///< in each cell, 1/2 Omega eps0 (-Im eps) |E|^2 dx [W/m^2]
};

/// A plane wave from the left, whose E alone would be exp(-j k x) V/m, x from edge 0.
/// Reflection and transmission compare waves at edge 0 and edge n. What is said of lossy
/// first media at PlaneWaveAnswer holds here.
struct GridPlaneWave {
  std::complex<double> reflection;    ///< of E at edge 0 [1]
  std::complex<double> transmission;  ///< E wave of the last medium, continued to edge n
                                      ///< [1]
  double incident_flux = 0.0;         ///< of the incident wave alone at edge 0 [W/m^2]
  double reflectance = 0.0;           ///< |reflection|^2 [1]
  double entering = 0.0;              ///< flux through edge 0 over incident_flux [1]
  double transmittance = 0.0;         ///< flux through edge n over incident_flux [1]
  GridFields fields;                  ///< for the incident wave of 1 V/m
};

/// \throws std::invalid_argument  No cells, values not finite or not passive, a grid too
///         coarse for waves in the first medium, or a conductor there.
[[nodiscard]] GridPlaneWave solve_plane_wave(const GridLayers& layers);

/// A current sheet of 1 A/m along z in one cell: J = 1/dx there.
struct GridCurrentSheet {
  double delivered = 0.0;   ///< -1/2 Re(E J*) dx [W/m^2]
  double into_first = 0.0;  ///< out through edge 0 [W/m^2]
  double into_last = 0.0;   ///< out through edge n [W/m^2]
  GridFields fields;
};

/// \throws std::invalid_argument  As above, or there is no such cell.
[[nodiscard]] GridCurrentSheet solve_current_sheet(const GridLayers& layers,
                                                   std::size_t cell);

}  // namespace torsowave::solver
