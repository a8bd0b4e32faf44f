#include "materials/wave_quantities.hpp"

#include <cmath>
#include <limits>

#include "materials/checks.hpp"
#include "materials/constants.hpp"

namespace torsowave::materials {

// k = beta - j alpha = (w/c) sqrt(eps_r), eta = eta0/sqrt(eps_r), non-magnetic medium.
// C. A. Balanis, Advanced Engineering Electromagnetics, ch. 4 (chapter from memory).
WaveQuantities wave_quantities(std::complex<double> relative_permittivity,
                               double frequency)
{
  require_frequency(frequency);
  const double omega = two_pi * frequency;
  const double loss = -relative_permittivity.imag();
  // The branch with Re > 0 has Im <= 0 in a passive medium: the wave decays along its
  // way.
  const std::complex<double> index = std::sqrt(relative_permittivity);
  require(std::isfinite(index.real()) && index.real() > 0.0,
          "real part of sqrt(relative_permittivity)", "finite and > 0", index.real());

  WaveQuantities wave;
  wave.frequency = frequency;
  wave.permittivity = relative_permittivity.real();
  wave.conductivity = loss > 0.0 ? omega * vacuum_permittivity * loss : 0.0;
  wave.loss_tangent = loss > 0.0 ? loss / relative_permittivity.real() : 0.0;
  wave.phase_constant = omega / speed_of_light * index.real();
  wave.attenuation = loss > 0.0 ? -omega / speed_of_light * index.imag() : 0.0;
  wave.attenuation_db_per_m = 20.0 * std::numbers::log10e * wave.attenuation;
  wave.wavelength = two_pi / wave.phase_constant;
  wave.penetration_depth = wave.attenuation > 0.0
                               ? 1.0 / wave.attenuation
                               : std::numeric_limits<double>::infinity();
  wave.impedance = vacuum_impedance / index;
  wave.phase_velocity = omega / wave.phase_constant;
  return wave;
}

}  // namespace torsowave::materials
