/// \file
/// \brief A conducting medium with Debye relaxations: what the stepper can propagate in.

#pragma once

#include <complex>
#include <span>
#include <vector>

namespace torsowave::materials {

/// One orientational relaxation of a polar medium.
struct DebyePole {
  double strength = 0.0;         ///< Relaxation strength delta_k [1], >= 0.
  double relaxation_time = 0.0;  ///< Relaxation time tau_k [s], > 0.
};

/// Isotropic passive medium: Debye relaxations and a static conductivity.
///
/// \f[ \varepsilon_r(\omega) = \varepsilon_\infty
///       + \sum_k \frac{\delta_k}{1 + j\omega\tau_k} +
///       \frac{\sigma}{j\omega\varepsilon_0} \f]
///
/// Parameters are checked here and nowhere else: a constructed medium is passive.
/// \see P. Debye, *Polar Molecules*, Chemical Catalog Company, New York, 1929, ch. V.
class DebyeMedium {
public:
  /// \param eps_inf       High-frequency limit [1], >= 1.
  /// \param conductivity  Static conductivity sigma [S/m], >= 0.
  /// \param poles         Relaxations in any order; none gives a flat medium.
  /// \throws std::invalid_argument  A value is not finite or breaks its bound; the
  /// message
  ///         names the parameter, its pole (counted from 1) and the value.
  DebyeMedium(double eps_inf, double conductivity, std::vector<DebyePole> poles);

  [[nodiscard]] double eps_inf() const noexcept { return eps_inf_; }
  [[nodiscard]] double conductivity() const noexcept { return conductivity_; }
  [[nodiscard]] std::span<const DebyePole> poles() const noexcept { return poles_; }

private:
  double eps_inf_;
  double conductivity_;
  std::vector<DebyePole> poles_;
};

/// Complex relative permittivity [1] at `frequency` [Hz], finite and > 0.
/// \throws std::invalid_argument  The frequency is not finite or not positive.
[[nodiscard]] std::complex<double> relative_permittivity(const DebyeMedium& medium,
                                                         double frequency);

}  // namespace torsowave::materials
