#include "materials/cole_cole.hpp"

#include "materials/checks.hpp"
#include "materials/constants.hpp"

namespace torsowave::materials {

// S. Gabriel, R. W. Lau, C. Gabriel, Phys. Med. Biol. 41 (1996) 2271, four-term Cole-Cole
// model: eps = eps_inf + sum_n delta_n / (1 + (j w tau_n)^(1 - alpha_n)) + sigma_i / (j w
// eps0).
std::complex<double> relative_permittivity(const ColeCole& model, double frequency)
{
  require_frequency(frequency);
  const double omega = two_pi * frequency;
  std::complex<double> eps{model.eps_inf,
                           -model.ionic_conductivity / (omega * vacuum_permittivity)};
  for (const ColeColeTerm& term : model.terms) {
    if (term.strength == 0.0) {
      continue;
    }
    const std::complex<double> j_omega_tau{0.0, omega * term.relaxation_time};
    eps += term.strength / (1.0 + std::pow(j_omega_tau, 1.0 - term.alpha));
  }
  return eps;
}

}  // namespace torsowave::materials
