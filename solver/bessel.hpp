/// \file
/// \brief Bessel functions of integer order and complex argument.

#pragma once

#include <complex>

namespace torsowave::solver {

/// J_n(z), to the last place or so of a double.
/// \throws std::domain_error  z is not finite.
[[nodiscard]] std::complex<double> bessel_j(int n, std::complex<double> z);

/// H_n^(2)(z) = J_n(z) - j Y_n(z), which goes outward with exp(+j w t).
/// \param z  -pi < arg z <= pi/2
/// \throws std::domain_error  z is zero or not finite.
[[nodiscard]] std::complex<double> hankel2(int n, std::complex<double> z);

}  // namespace torsowave::solver
