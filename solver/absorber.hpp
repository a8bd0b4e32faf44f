/// \file
/// \brief Convolutional perfectly matched layer: its graded profile along one axis.

#pragma once

#include <vector>

#include "solver/grid.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

/// How the absorbing layer is graded.
///
/// The defaults were chosen by measurement (docs/validation.md, "Absorbing boundary"). A
/// line source 10 cells from 12 cells of absorber on all four sides gets back, in energy,
/// less than -110 dB in air (0.2 to 2.9 GHz, cells of 0.5 and 1 mm), less than -130 dB in
/// muscle, and less than -94 dB where a surface of muscle runs into the layer. Below
/// alpha_max/(2 pi eps0) = 0.36 GHz the layer starts to let waves through to the wall.
struct AbsorberSpec {
  int cells = 12;
  double order = 4.0;          ///< m of the polynomial grading of sigma and kappa
  double sigma_factor = 0.75;  ///< sigma_max in units of 0.8 (m+1)/(eta0 dx sqrt(eps_r))
  double kappa_max = 5.0;      ///< largest real stretch [1], >= 1
  double alpha_max = 0.02;     ///< frequency shift at the inner face [S/m]
};

/// Coefficients of the recursive convolution at every cell centre and edge along one
/// axis.
///
/// With the stretch s = kappa + sigma/(alpha + j omega eps0), a derivative d becomes
/// d/kappa + psi, psi' = b psi + c d, with b = exp(-(sigma/kappa + alpha) dt/eps0) and
/// c = sigma (b - 1)/(kappa (sigma + kappa alpha)).
/// \see J. A. Roden, S. D. Gedney, Microw. Opt. Technol. Lett. 27 (2000) 334-339.
struct AbsorberProfile {
  /// Coefficients at positions along the axis; interior positions hold b = c = 0, 1/kappa
  /// = 1.
  struct Line {
    std::vector<double> b;
    std::vector<double> c;
    std::vector<double> inverse_kappa;
  };
  Line at_cells;  ///< (n) cell centres
  Line at_edges;  ///< (n + 1) edges, edge e between cells e - 1 and e
};

/// \param n      cells along the axis
/// \param cell   edge of a cell [m]
/// \param dt     time step [s]
/// \param eps_low,eps_high  relative permittivity of the medium at either end [1], >= 1
[[nodiscard]] AbsorberProfile absorber_profile(const AbsorberSpec& spec, int n,
                                               double cell, double dt, double eps_low,
                                               double eps_high);

/// Profiles of a grid. Each side is matched to the fastest medium at its rim (by the
/// static limit of its permittivity): too much conductivity for the slower media beside
/// it costs little, too little for the fastest one lets its waves through to the wall.
[[nodiscard]] AbsorberProfile absorber_along_x(const AbsorberSpec& spec, const Grid& grid,
                                               const Medium& medium);
[[nodiscard]] AbsorberProfile absorber_along_y(const AbsorberSpec& spec, const Grid& grid,
                                               const Medium& medium);

}  // namespace torsowave::solver
