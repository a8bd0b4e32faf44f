#include "solver/own_cell.hpp"

#include <cmath>
#include <numbers>

#include "materials/constants.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

double own_cell_excess(std::complex<double> eps, std::complex<double> eps_d,
                       std::complex<double> gain, double frequency, double cell,
                       double dt)
{
  using Complex = std::complex<double>;
  const double omega = materials::two_pi * frequency;
  const double discrete = discrete_omega(frequency, dt);
  const auto logarithm = [](Complex z) {
    return std::log(std::sqrt(32.0) / z) - Complex(0.0, 0.5 * std::numbers::pi);
  };
  const auto power = [](double w, Complex green) {
    return -0.5 * w * materials::vacuum_permeability * green.imag() / materials::two_pi;
  };
  const Complex z = discrete * cell / materials::speed_of_light * std::sqrt(eps_d);
  const Complex l = logarithm(z);
  const Complex ideal =
      logarithm(omega * cell / materials::speed_of_light * std::sqrt(eps));
  return power(discrete, l + z * z * (l / 8.0 - 1.0 / 16.0)) / std::norm(gain) -
         power(omega, ideal);
}

}  // namespace torsowave::solver
