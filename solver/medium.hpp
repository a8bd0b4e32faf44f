/// \file
/// \brief What fills the grid: a palette of Debye media and the palette index of each
/// cell.

#pragma once

#include <complex>
#include <cstdint>
#include <span>
#include <vector>

#include "geometry/tissue_map.hpp"
#include "materials/debye_fit.hpp"

namespace torsowave::solver {

/// One medium on the relaxation times that all media of the grid share.
struct MediumEntry {
  bool conductor = false;         ///< E = 0; the rest is unused
  double eps_inf = 1.0;           ///< [1]
  double conductivity = 0.0;      ///< [S/m]
  std::vector<double> strengths;  ///< delta_k [1]

  [[nodiscard]] bool has_poles() const noexcept;
};

/// The grid's filling.
struct Medium {
  std::vector<double> relaxation_times;  ///< tau_k [s]
  std::vector<MediumEntry> palette;
  std::vector<std::uint16_t> cells;  ///< (ny, nx), index into palette
};

/// Mixes the fitted media by area fraction (Ez is parallel to every interface, so the
/// average is exact in the static limit) and carries the cells at the absorber's inner
/// face straight out to the rim, so that tissue which meets the absorber continues as a
/// half-space.
///
/// A cell that is at least half conductor counts as conductor; a lesser share is left
/// out. \param media  fitted media in the order of TissueMap::tissues
[[nodiscard]] Medium build_medium(const geometry::TissueMap& map,
                                  const materials::DebyePalette& media,
                                  int absorbing_cells);

/// The permittivity that the time-stepping gives a phasor, exactly: with the bilinear
/// update, j omega becomes j (2/dt) tan(omega dt/2) in the relaxations and in the
/// conduction term, eps_d = eps_inf + sum_k delta_k/(1 + j w' tau_k) + sigma/(j w' eps0),
/// w' = (2/dt) tan(w dt/2), and the field obeys j Omega eps0 eps_d E = curl H - J, Omega
/// = (2/dt) sin(omega dt/2).
[[nodiscard]] std::complex<double> discrete_permittivity(const MediumEntry& entry,
                                                         std::span<const double> times,
                                                         double frequency, double dt);

/// Omega = (2/dt) sin(omega dt/2) [rad/s]: what the leapfrog makes of omega.
[[nodiscard]] double discrete_omega(double frequency, double dt);

}  // namespace torsowave::solver
