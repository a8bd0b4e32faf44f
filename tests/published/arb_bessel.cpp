#include "published/arb_bessel.hpp"

#include <acb_hypgeom.h>
#include <fmt/format.h>

#include <stdexcept>

namespace torsowave::reference {
namespace {

constexpr long most_bits = 1L << 15;

/// Runs `evaluate(result, bits)` with ever more bits until the result is accurate.
template <typename Evaluate>
Ball until_accurate(Evaluate evaluate, const char* name, std::size_t n,
                    std::complex<double> z)
{
  for (long bits = 2 * BesselSequence::bessel_bits; bits <= most_bits; bits *= 2) {
    Ball result;
    evaluate(result, bits);
    if (acb_is_finite(result.get()) != 0 &&
        result.accurate_bits() >= BesselSequence::bessel_bits) {
      return result;
    }
  }
  throw std::domain_error(
      fmt::format("{}_{}({} {:+}j) has no accurate value", name, n, z.real(), z.imag()));
}

Ball bessel_j_ball(std::size_t n, std::complex<double> z)
{
  const Ball order(static_cast<double>(n));
  const Ball argument(z);
  return until_accurate(
      [&](Ball& result, long bits) {
        acb_hypgeom_bessel_j(result.get(), order.get(), argument.get(), bits);
      },
      "J", n, z);
}

/// H^(2) = J - jY (DLMF 10.4.3).
Ball hankel2_ball(std::size_t n, std::complex<double> z)
{
  const Ball order(static_cast<double>(n));
  const Ball argument(z);
  return until_accurate(
      [&](Ball& result, long bits) {
        Ball y;
        acb_hypgeom_bessel_jy(result.get(), y.get(), order.get(), argument.get(), bits);
        acb_mul_onei(y.get(), y.get());
        acb_sub(result.get(), result.get(), y.get(), bits);
      },
      "H2", n, z);
}

/// C_n' = C_(n-1) - (n/z) C_n, C_0' = -C_1 (DLMF 10.6.2, 10.6.3).
Ball slope(std::size_t n, std::complex<double> z, const Ball& here, const Ball& neighbour)
{
  if (n == 0) {
    return Ball(0.0) - neighbour;
  }
  return neighbour - Ball(static_cast<double>(n)) / Ball(z) * here;
}

}  // namespace

std::complex<double> Ball::middle() const
{
  return {arf_get_d(arb_midref(acb_realref(value_)), ARF_RND_NEAR),
          arf_get_d(arb_midref(acb_imagref(value_)), ARF_RND_NEAR)};
}

double Ball::radius() const
{
  return mag_get_d(arb_radref(acb_realref(value_))) +
         mag_get_d(arb_radref(acb_imagref(value_)));
}

long Ball::accurate_bits() const
{
  return acb_rel_accuracy_bits(value_);
}

Ball operator+(const Ball& a, const Ball& b)
{
  Ball result;
  acb_add(result.get(), a.get(), b.get(), arithmetic_bits);
  return result;
}

Ball operator-(const Ball& a, const Ball& b)
{
  Ball result;
  acb_sub(result.get(), a.get(), b.get(), arithmetic_bits);
  return result;
}

Ball operator*(const Ball& a, const Ball& b)
{
  Ball result;
  acb_mul(result.get(), a.get(), b.get(), arithmetic_bits);
  return result;
}

Ball operator/(const Ball& a, const Ball& b)
{
  Ball result;
  acb_div(result.get(), a.get(), b.get(), arithmetic_bits);
  return result;
}

Ball conj(const Ball& a)
{
  Ball result;
  acb_conj(result.get(), a.get());
  return result;
}

Ball cos(const Ball& a)
{
  Ball result;
  acb_cos(result.get(), a.get(), arithmetic_bits);
  return result;
}

const Ball& BesselSequence::j_value(std::size_t n)
{
  while (j_.size() <= n) {
    j_.push_back(bessel_j_ball(j_.size(), z_));
  }
  return j_[n];
}

const Ball& BesselSequence::h_value(std::size_t n)
{
  while (h_.size() <= n) {
    h_.push_back(hankel2_ball(h_.size(), z_));
  }
  return h_[n];
}

ValueAndSlope BesselSequence::j(std::size_t n)
{
  if (z_ == 0.0) {  // J_n ~ (z/2)^n/n!
    return {Ball(n == 0 ? 1.0 : 0.0), Ball(n == 1 ? 0.5 : 0.0)};
  }
  const Ball neighbour = j_value(n == 0 ? 1 : n - 1);
  return {j_value(n), slope(n, z_, j_value(n), neighbour)};
}

ValueAndSlope BesselSequence::h(std::size_t n)
{
  const Ball neighbour = h_value(n == 0 ? 1 : n - 1);
  return {h_value(n), slope(n, z_, h_value(n), neighbour)};
}

}  // namespace torsowave::reference
