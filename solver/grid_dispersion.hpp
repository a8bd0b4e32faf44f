/// \file
/// \brief Takes the grid's own dispersion out of the media, and out of the source.
///
/// On square cells the Yee scheme carries a wave of wavenumber k in direction phi as if
/// k^2 were K^2 = (4/dx^2) (sin^2(k dx cos(phi)/2) + sin^2(k dx sin(phi)/2))
/// = k^2 - (k^4 dx^2/16) (1 + cos(4 phi)/3) + ...; waves in tissue lag and, where the
/// medium has losses, die too slowly or too fast. The mean over all directions is known
/// exactly, so each medium is given the permittivity with which the grid's mean wave is
/// the true one:
///   eps_grid = <K^2(k)> / (Omega^2 mu0 eps0),  k = (omega/c) sqrt(eps).
/// What is left is the direction-dependent part, a quarter of the error along the axes.
/// In TEz the curl that updates Ex can be averaged along x within a medium with losses
/// (TezMedium::x_averaged), with which
///   K^2 = (4/dx^2) (sx^2 + sy^2 - (2/3) sx^2 sy^2) = k^2 - k^4 dx^2/12 + O(dx^4),
/// sx = sin(k dx cos(phi)/2), sy = sin(k dx sin(phi)/2): no direction is left in the
/// leading term (derived in docs/numerics.md, 10). The idea of an effective permittivity
/// against numerical dispersion is common practice, no published source; the relation it
/// rests on is the 2-D dispersion relation of the scheme (A. Taflove, S. C. Hagness,
/// *Computational Electrodynamics*, 3rd ed., ch. 4, from memory).

#pragma once

#include <complex>
#include <span>

#include "materials/debye_fit.hpp"
#include "solver/grid.hpp"

namespace torsowave::solver {

/// The differences that a wave in a medium meets.
enum class Stencil {
  row,      ///< one dimension: the wave along x alone, exactly
  plain,    ///< the Yee scheme on square cells
  averaged  ///< TEz: the curl at Ex averaged along x
};

/// Permittivity [1] that makes the grid's direction-averaged wave that of `eps`.
/// \param eps   relative permittivity wanted [1]
/// \param cell  dx [m]
/// \param dt    [s]
[[nodiscard]] std::complex<double> grid_permittivity(std::complex<double> eps,
                                                     double frequency, double cell,
                                                     double dt,
                                                     Stencil stencil = Stencil::plain);

/// What radiates.
enum class RadiatorKind {
  line_current,   ///< TMz
  magnetic_line,  ///< TEz
  dipole,         ///< TEz: half on the edges of a cell on either side
  current_sheet   ///< mode 1D
};

/// How much stronger than itself a source in one cell radiates. Phasors are divided by
/// the source's spectrum times this factor, which makes them per unit of a source that
/// radiates like an ideal filament.
///
/// A current goes into the grid's wave equation as j Omega mu0 J; the residue of its
/// Green's function at the direction-averaged pole brings 1/(d<K^2>/dk^2) = 1 + (k
/// dx)^2/8
/// + ... (in one dimension k dx/sin(k dx)). A magnetic line goes in as j Omega eps0
/// eps_grid M. A dipole goes in by its discrete curl, whose mean over its pattern
/// sin^2(phi), 2 <sin(phi) sin(k dx sin(phi))>/(k dx), is just the inverse of the
/// residue: its gain is 1. With the averaged stencil that still holds of its part along
/// x, which is averaged as the curl is; its part along y radiates 1 + (k dx)^2/24 + ...
/// as much, and the sum of both is taken as it projects on the pattern of an ideal one.
/// \param direction  of a dipole [rad]
[[nodiscard]] std::complex<double> source_gain(RadiatorKind kind,
                                               std::complex<double> eps, double frequency,
                                               double cell, double dt,
                                               Stencil stencil = Stencil::plain,
                                               double direction = 0.0);

/// Wavenumber [rad/m] of a plane wave at `angle` in the grid, Im k <= 0 and Re k >= 0:
/// the root of K^2(k, angle) = Omega^2 mu0 eps0 eps_d that belongs to the wave in the
/// limit of small cells.
/// \param angle  direction of travel [rad]; 0 or pi on a one-row grid
/// \param eps_d  discrete_permittivity() of the medium [1]
/// \throws std::domain_error  The cells are too coarse: no such wave, or none found.
[[nodiscard]] std::complex<double> numerical_wavenumber(const Grid& grid, double angle,
                                                        double frequency,
                                                        std::complex<double> eps_d = 1.0,
                                                        Stencil stencil = Stencil::plain);

/// What was asked of a correction.
struct GridCorrection {
  double cell = 0.0;       ///< dx [m]
  double dt = 0.0;         ///< [s]
  double band_from = 0.0;  ///< [Hz]
  double band_to = 0.0;    ///< [Hz]
  std::span<const double>
      frequencies;  ///< where results are wanted: met most closely [Hz]
  Stencil stencil = Stencil::plain;
};

/// The palette with each medium's weights moved so that it meets grid_permittivity() of
/// itself: a non-negative fit on the same times, so passivity stays. Media without loss
/// or relaxation stay as they are: their waves are long.
[[nodiscard]] materials::DebyePalette correct_for_grid(
    const materials::DebyePalette& palette, const GridCorrection& correction);

}  // namespace torsowave::solver
