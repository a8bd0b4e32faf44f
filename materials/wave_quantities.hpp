/// \file
/// \brief What a plane wave does in a medium: attenuation, wavelength, impedance.

#pragma once

#include <complex>

namespace torsowave::materials {

/// Plane-wave quantities of a medium at one frequency (non-magnetic).
///
/// With \f$k = \beta - j\alpha = (\omega/c)\sqrt{\varepsilon_r}\f$.
/// \see C. A. Balanis, *Advanced Engineering Electromagnetics*, ch. 4 (chapter from
/// memory).
struct WaveQuantities {
  double frequency = 0.0;             ///< [Hz]
  double permittivity = 1.0;          ///< eps' [1]
  double conductivity = 0.0;          ///< effective: omega eps0 eps'' [S/m]
  double loss_tangent = 0.0;          ///< eps''/eps' [1]
  double attenuation = 0.0;           ///< alpha [Np/m]
  double attenuation_db_per_m = 0.0;  ///< 20 log10(e) alpha [dB/m]
  double phase_constant = 0.0;        ///< beta [rad/m]
  double wavelength = 0.0;            ///< 2 pi/beta [m]
  double penetration_depth =
      0.0;  ///< 1/alpha [m] (field falls to 1/e); infinite if lossless
  std::complex<double> impedance;  ///< eta0/sqrt(eps_r) [ohm]
  double phase_velocity = 0.0;     ///< omega/beta [m/s]
};

/// \param relative_permittivity  eps' - j eps'' [1]
/// \param frequency  [Hz], > 0
/// \throws std::invalid_argument  Bad frequency, or no wave travels (real part of
///         sqrt(relative_permittivity) not finite and > 0).
[[nodiscard]] WaveQuantities wave_quantities(std::complex<double> relative_permittivity,
                                             double frequency);

}  // namespace torsowave::materials
