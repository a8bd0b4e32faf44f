#include "materials/debye_medium.hpp"

#include <fmt/format.h>

#include <cstddef>
#include <utility>

#include "materials/checks.hpp"
#include "materials/constants.hpp"

namespace torsowave::materials {

DebyeMedium::DebyeMedium(double eps_inf, double conductivity,
                         std::vector<DebyePole> poles)
    : eps_inf_(eps_inf), conductivity_(conductivity), poles_(std::move(poles))
{
  require(std::isfinite(eps_inf_) && eps_inf_ >= 1.0, "eps_inf", "finite and >= 1",
          eps_inf_);
  require(std::isfinite(conductivity_) && conductivity_ >= 0.0, "conductivity [S/m]",
          "finite and >= 0", conductivity_);
  for (std::size_t p = 0; p < poles_.size(); ++p) {
    const auto& [strength, time] = poles_[p];
    const std::string pole = fmt::format("Debye pole {} of {}: ", p + 1, poles_.size());
    require(std::isfinite(strength) && strength >= 0.0, pole + "strength",
            "finite and >= 0", strength);
    require(std::isfinite(time) && time > 0.0, pole + "relaxation_time [s]",
            "finite and > 0", time);
  }
}

// P. Debye, Polar Molecules, Chemical Catalog Company, New York, 1929, ch. V:
// eps = eps_inf + sum_k delta_k / (1 + j w tau_k) + sigma / (j w eps0).
std::complex<double> relative_permittivity(const DebyeMedium& medium, double frequency)
{
  require_frequency(frequency);
  const double omega = two_pi * frequency;
  double real = medium.eps_inf();
  double loss = medium.conductivity() / (omega * vacuum_permittivity);
  for (const DebyePole& pole : medium.poles()) {
    const double x = omega * pole.relaxation_time;
    const double in_phase = pole.strength / (1.0 + x * x);
    real += in_phase;
    loss += in_phase * x;
  }
  return {real, -loss};
}

}  // namespace torsowave::materials
