#include "solver/bessel.hpp"

#include <fmt/format.h>

#include <stdexcept>

#include "solver/bessel_sequence_internal.hpp"

namespace torsowave::solver {
namespace {

template <typename Evaluate>
std::complex<double> rounded(const char* name, int n, std::complex<double> z,
                             Evaluate evaluate)
{
  constexpr long enough = 54;
  constexpr long first_bits = 192;
  constexpr long most_bits = 3072;
  for (long bits = first_bits; bits <= most_bits; bits *= 2) {
    BesselSequence sequence(Ball(z, bits));
    const Ball value = evaluate(sequence);
    if (value.accurate_bits() >= enough || value.is_exact_zero()) {
      return value.middle();
    }
  }
  throw std::domain_error(
      fmt::format("{}_{}({} {:+}j) has no accurate value", name, n, z.real(), z.imag()));
}

}  // namespace

std::complex<double> bessel_j(int n, std::complex<double> z)
{
  return rounded("J", n, z, [n](BesselSequence& at) { return at.j(n); });
}

std::complex<double> hankel2(int n, std::complex<double> z)
{
  return rounded("H2", n, z, [n](BesselSequence& at) { return at.h(n); });
}

}  // namespace torsowave::solver
