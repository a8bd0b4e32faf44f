#include <algorithm>
#include <cmath>
#include <limits>

#include "solver/ball_internal.hpp"

namespace torsowave::solver {
namespace {

/// For the rounding of the logarithm.
constexpr double log2_slack = 1e-9;

template <typename Operation>
Ball of_two(const Ball& a, const Ball& b, Operation operation)
{
  Ball result = Ball::with_bits(std::max(a.bits(), b.bits()));
  operation(result.get(), a.get(), b.get(), result.bits());
  return result;
}

template <typename Operation>
Ball of_one(const Ball& a, Operation operation)
{
  Ball result = Ball::with_bits(a.bits());
  operation(result.get(), a.get(), result.bits());
  return result;
}

double log2_of(const mag_t magnitude)
{
  if (mag_is_zero(magnitude) != 0) {
    return -std::numeric_limits<double>::infinity();
  }
  if (mag_is_inf(magnitude) != 0) {
    return std::numeric_limits<double>::infinity();
  }
  return fmpz_get_d(MAG_EXPREF(magnitude)) +
         std::log2(static_cast<double>(MAG_MAN(magnitude))) - MAG_BITS;
}

template <typename Get>
double log2_from(const acb_t value, Get get)
{
  mag_t magnitude;
  mag_init(magnitude);
  get(magnitude, value);
  const double result = log2_of(magnitude);
  mag_clear(magnitude);
  return result;
}

}  // namespace

std::complex<double> Ball::middle() const
{
  return {arf_get_d(arb_midref(acb_realref(value_)), ARF_RND_NEAR),
          arf_get_d(arb_midref(acb_imagref(value_)), ARF_RND_NEAR)};
}

Ball Ball::exact_middle() const
{
  Ball result(*this);
  mag_zero(arb_radref(acb_realref(result.value_)));
  mag_zero(arb_radref(acb_imagref(result.value_)));
  return result;
}

double Ball::log2_size() const
{
  return log2_from(value_, acb_get_mag) + log2_slack;
}

double Ball::log2_least() const
{
  return log2_from(value_, acb_get_mag_lower) - log2_slack;
}

double Ball::log2_error() const
{
  return log2_slack + log2_from(value_, [](mag_t sum, const acb_t value) {
           mag_add(sum, arb_radref(acb_realref(value)), arb_radref(acb_imagref(value)));
         });
}

void Ball::widen(double log2_error)
{
  if (std::isinf(log2_error) && log2_error < 0.0) {
    return;
  }
  if (!std::isfinite(log2_error)) {
    widen_without_bound();
    return;
  }
  const auto exponent = static_cast<slong>(std::ceil(log2_error));
  arb_add_error_2exp_si(acb_realref(value_), exponent);
  arb_add_error_2exp_si(acb_imagref(value_), exponent);
}

Ball operator+(const Ball& a, const Ball& b)
{
  return of_two(a, b, acb_add);
}

Ball operator-(const Ball& a, const Ball& b)
{
  return of_two(a, b, acb_sub);
}

Ball operator*(const Ball& a, const Ball& b)
{
  return of_two(a, b, acb_mul);
}

Ball operator/(const Ball& a, const Ball& b)
{
  return of_two(a, b, acb_div);
}

Ball operator-(const Ball& a)
{
  return of_one(a, [](acb_t result, const acb_t z, slong) { acb_neg(result, z); });
}

Ball operator*(long factor, const Ball& a)
{
  return of_one(a, [factor](acb_t result, const acb_t z, slong bits) {
    acb_mul_si(result, z, factor, bits);
  });
}

Ball conj(const Ball& a)
{
  return of_one(a, [](acb_t result, const acb_t z, slong) { acb_conj(result, z); });
}

Ball sqrt(const Ball& a)
{
  return of_one(a, acb_sqrt);
}

Ball exp(const Ball& a)
{
  return of_one(a, acb_exp);
}

Ball real(const Ball& a)
{
  return of_one(
      a, [](acb_t result, const acb_t z, slong) { acb_set_arb(result, acb_realref(z)); });
}

Ball imag(const Ball& a)
{
  return of_one(
      a, [](acb_t result, const acb_t z, slong) { acb_set_arb(result, acb_imagref(z)); });
}

Ball arg(const Ball& a)
{
  return of_one(a, [](acb_t result, const acb_t z, slong bits) {
    acb_zero(result);
    acb_arg(acb_realref(result), z, bits);
  });
}

Ball turned(const Ball& a, long n)
{
  Ball result = a;
  for (long turn = ((n % 4) + 4) % 4; turn > 0; --turn) {
    acb_mul_onei(result.get(), result.get());
  }
  return result;
}

Ball power(const Ball& a, long exponent)
{
  return of_one(a, [exponent](acb_t result, const acb_t z, slong bits) {
    acb_pow_si(result, z, exponent, bits);
  });
}

Ball modulus(const Ball& a)
{
  return of_one(a, [](acb_t result, const acb_t z, slong bits) {
    acb_zero(result);
    acb_abs(acb_realref(result), z, bits);
  });
}

Ball direction(double angle, long bits)
{
  return exp(Ball({0.0, angle}, bits));
}

Ball pi(long bits)
{
  Ball result = Ball::with_bits(bits);
  acb_const_pi(result.get(), bits);
  return result;
}

}  // namespace torsowave::solver
