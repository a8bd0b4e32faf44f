/// \file
/// \brief Four-term Cole-Cole dispersion of biological tissue.

#pragma once

#include <array>
#include <complex>

namespace torsowave::materials {

/// One Cole-Cole dispersion.
struct ColeColeTerm {
  double strength = 0.0;         ///< delta_n [1], >= 0.
  double relaxation_time = 0.0;  ///< tau_n [s], > 0 where strength > 0.
  double alpha = 0.0;            ///< Broadening alpha_n [1], 0 <= alpha < 1.
};

/// \f[ \varepsilon_r(\omega) = \varepsilon_\infty + \sum_{n=1}^{4}
///       \frac{\delta_n}{1 + (j\omega\tau_n)^{1-\alpha_n}}
///       + \frac{\sigma_i}{j\omega\varepsilon_0} \f]
/// \see S. Gabriel, R. W. Lau, C. Gabriel, Phys. Med. Biol. 41 (1996) 2271-2293.
struct ColeCole {
  double eps_inf = 1.0;                 ///< [1]
  std::array<ColeColeTerm, 4> terms{};  ///< fastest dispersion first
  double ionic_conductivity = 0.0;      ///< sigma_i [S/m]
};

/// Complex relative permittivity [1] at `frequency` [Hz], finite and > 0.
/// \throws std::invalid_argument  The frequency is not finite or not positive.
[[nodiscard]] std::complex<double> relative_permittivity(const ColeCole& model,
                                                         double frequency);

}  // namespace torsowave::materials
