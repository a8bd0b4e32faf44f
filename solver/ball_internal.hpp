/// \file
/// \brief Complex balls: a number of any precision with a rigorous error bound.

#pragma once

#include <acb.h>

#include <complex>

namespace torsowave::solver {

/// A complex number known to lie within a bound of its middle; owns one acb_t.
///
/// A ball remembers how many bits it was computed with, and a result of two balls is
/// computed with the larger number of bits.
/// \see F. Johansson, "Arb: efficient arbitrary-precision midpoint-radius interval
///      arithmetic", IEEE Trans. Computers 66 (2017) 1281-1292 (from memory).
class Ball {
public:
  Ball() { acb_init(value_); }
  Ball(std::complex<double> exact, long bits) : Ball(bits)
  {
    acb_set_d_d(value_, exact.real(), exact.imag());
  }
  Ball(const Ball& other) : Ball(other.bits_) { acb_set(value_, other.value_); }
  Ball(Ball&& other) noexcept : Ball(other.bits_) { acb_swap(value_, other.value_); }
  Ball& operator=(const Ball& other)
  {
    acb_set(value_, other.value_);
    bits_ = other.bits_;
    return *this;
  }
  Ball& operator=(Ball&& other) noexcept
  {
    acb_swap(value_, other.value_);
    bits_ = other.bits_;
    return *this;
  }
  ~Ball() { acb_clear(value_); }

  /// Zero, to be filled.
  [[nodiscard]] static Ball with_bits(long bits) { return Ball(bits); }

  [[nodiscard]] acb_ptr get() noexcept { return value_; }
  [[nodiscard]] acb_srcptr get() const noexcept { return value_; }
  [[nodiscard]] long bits() const noexcept { return bits_; }

  /// Midpoint, rounded to double.
  [[nodiscard]] std::complex<double> middle() const;
  /// The midpoint, exactly.
  [[nodiscard]] Ball exact_middle() const;
  /// log2 of an upper bound of the magnitude; minus infinity for zero.
  [[nodiscard]] double log2_size() const;
  /// log2 of a lower bound of the magnitude; minus infinity if zero cannot be excluded.
  [[nodiscard]] double log2_least() const;
  /// log2 of an upper bound of the distance from the middle.
  [[nodiscard]] double log2_error() const;
  [[nodiscard]] bool is_exact_zero() const { return acb_is_zero(value_) != 0; }
  [[nodiscard]] bool may_be_zero() const { return acb_contains_zero(value_) != 0; }
  [[nodiscard]] bool is_same(const Ball& other) const
  {
    return acb_equal(value_, other.value_) != 0;
  }
  /// Bits of relative accuracy that the bound guarantees.
  [[nodiscard]] long accurate_bits() const { return acb_rel_accuracy_bits(value_); }

  /// Widens the ball by 2^log2_error in each direction.
  void widen(double log2_error);
  /// Nothing is known any more.
  void widen_without_bound() { acb_indeterminate(value_); }

private:
  explicit Ball(long bits) : bits_(bits) { acb_init(value_); }

  acb_t value_;
  long bits_ = 0;
};

[[nodiscard]] Ball operator+(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator-(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator*(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator/(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator-(const Ball& a);
[[nodiscard]] Ball operator*(long factor, const Ball& a);
[[nodiscard]] Ball conj(const Ball& a);
[[nodiscard]] Ball sqrt(const Ball& a);
[[nodiscard]] Ball exp(const Ball& a);
[[nodiscard]] Ball real(const Ball& a);
[[nodiscard]] Ball imag(const Ball& a);
/// Angle in (-pi, pi].
[[nodiscard]] Ball arg(const Ball& a);
/// j^n a.
[[nodiscard]] Ball turned(const Ball& a, long n);
[[nodiscard]] Ball power(const Ball& a, long exponent);
/// Distance from the origin of the plane, sqrt(Re^2 + Im^2).
[[nodiscard]] Ball modulus(const Ball& a);
/// The unit vector of this angle [rad]: exp(j angle).
[[nodiscard]] Ball direction(double angle, long bits);
[[nodiscard]] Ball pi(long bits);

}  // namespace torsowave::solver
