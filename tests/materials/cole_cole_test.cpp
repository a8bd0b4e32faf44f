#include "materials/cole_cole.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

#include "materials/constants.hpp"
#include "materials/tissue.hpp"

namespace torsowave::materials {
namespace {

/// The same model without complex powers: with u = (w tau)^(1-alpha) and the angle
/// q = (1-alpha) pi/2, (j w tau)^(1-alpha) = u cos q + j u sin q, and a term becomes
/// delta (1 + u cos q - j u sin q) / (1 + 2 u cos q + u^2).
std::complex<double> real_arithmetic(const ColeCole& model, double frequency)
{
  const double omega = two_pi * frequency;
  double real = model.eps_inf;
  double loss = model.ionic_conductivity / (omega * vacuum_permittivity);
  for (const ColeColeTerm& term : model.terms) {
    if (term.strength > 0.0) {
      const double exponent = 1.0 - term.alpha;
      const double u = std::pow(omega * term.relaxation_time, exponent);
      const double c = u * std::cos(exponent * std::numbers::pi / 2.0);
      const double s = u * std::sin(exponent * std::numbers::pi / 2.0);
      const double denominator = 1.0 + 2.0 * c + u * u;
      real += term.strength * (1.0 + c) / denominator;
      loss += term.strength * s / denominator;
    }
  }
  return {real, -loss};
}

TEST(ColeCole, EveryTissueAgreesWithRealArithmetic)
{
  int compared = 0;
  for (const Tissue& tissue : tissue_library()) {
    if (const auto* model = std::get_if<ColeCole>(&tissue.model)) {
      for (double frequency = 10.0; frequency < 2e11; frequency *= 1.7) {
        const std::complex<double> expected = real_arithmetic(*model, frequency);
        const std::complex<double> got = relative_permittivity(*model, frequency);
        EXPECT_NEAR(got.real() / expected.real(), 1.0, 1e-12)
            << tissue.name << " at " << frequency;
        EXPECT_NEAR(got.imag() / expected.imag(), 1.0, 1e-12)
            << tissue.name << " at " << frequency;
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 59 * 40);
}

TEST(ColeCole, SingleTermAtItsRelaxationIsHalfWayUp)
{
  // alpha = 0, w tau = 1: delta / (1 + j) = delta (1 - j)/2.
  ColeCole model;
  model.eps_inf = 3.0;
  model.terms[0] = {40.0, 1.0 / (two_pi * 1e9), 0.0};
  const std::complex<double> eps = relative_permittivity(model, 1e9);
  EXPECT_NEAR(eps.real(), 23.0, 1e-12);
  EXPECT_NEAR(eps.imag(), -20.0, 1e-12);
}

TEST(ColeCole, RefusesUnusableFrequencies)
{
  const ColeCole model;
  for (const double frequency : {0.0, -1e9, std::numeric_limits<double>::infinity(),
                                 std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_THROW((void)relative_permittivity(model, frequency), std::invalid_argument);
  }
}

}  // namespace
}  // namespace torsowave::materials
