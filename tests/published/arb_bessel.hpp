/// \file
/// \brief Complex balls (value and error bound) from Arb, and Bessel functions as
/// sequences of them.

#pragma once

#include <acb.h>

#include <complex>
#include <cstddef>
#include <vector>

namespace torsowave::reference {

/// A complex number with a rigorous error bound; owns one acb_t.
class Ball {
public:
  Ball() { acb_init(value_); }
  explicit Ball(std::complex<double> exact) : Ball()
  {
    acb_set_d_d(value_, exact.real(), exact.imag());
  }
  Ball(const Ball& other) : Ball() { acb_set(value_, other.value_); }
  Ball(Ball&& other) noexcept : Ball() { acb_swap(value_, other.value_); }
  Ball& operator=(Ball other) noexcept
  {
    acb_swap(value_, other.value_);
    return *this;
  }
  ~Ball() { acb_clear(value_); }

  [[nodiscard]] acb_ptr get() noexcept { return value_; }
  [[nodiscard]] acb_srcptr get() const noexcept { return value_; }

  /// Midpoint, rounded to double.
  [[nodiscard]] std::complex<double> middle() const;
  /// Upper bound of the distance between the true value and the midpoint.
  [[nodiscard]] double radius() const;
  /// Bits of relative accuracy that the bound guarantees.
  [[nodiscard]] long accurate_bits() const;

private:
  acb_t value_;
};

/// Arithmetic at `arithmetic_bits`, wide enough for the cancellation in the boundary
/// matching.
inline constexpr long arithmetic_bits = 512;
[[nodiscard]] Ball operator+(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator-(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator*(const Ball& a, const Ball& b);
[[nodiscard]] Ball operator/(const Ball& a, const Ball& b);
[[nodiscard]] Ball conj(const Ball& a);
[[nodiscard]] Ball cos(const Ball& a);

/// A function and its derivative with respect to its argument.
struct ValueAndSlope {
  Ball value;
  Ball slope;
};

/// J_n(z) and H_n^(2)(z), n = 0, 1, 2, ..., each computed once.
///
/// Every value has at least `bessel_bits` of guaranteed relative accuracy; the working
/// precision is raised until the bound says so. Branch cut of H along the negative real
/// axis.
class BesselSequence {
public:
  static constexpr long bessel_bits = 160;

  explicit BesselSequence(std::complex<double> z) : z_(z) {}

  /// \throws std::domain_error  The accuracy cannot be had (H at z = 0).
  [[nodiscard]] ValueAndSlope j(std::size_t n);
  [[nodiscard]] ValueAndSlope h(std::size_t n);

private:
  [[nodiscard]] const Ball& j_value(std::size_t n);
  [[nodiscard]] const Ball& h_value(std::size_t n);

  std::complex<double> z_;
  std::vector<Ball> j_;
  std::vector<Ball> h_;
};

}  // namespace torsowave::reference
