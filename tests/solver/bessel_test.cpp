#include "solver/bessel.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

double relative_difference(Complex value, Complex expected)
{
  return std::abs(value - expected) / std::abs(expected);
}

// J_0(1), J_1(1), Y_0(1) from M. Abramowitz, I. A. Stegun, *Handbook of Mathematical
// Functions*, 1964, table 9.1 (digits from memory; the bound of the ball confirms them).
TEST(BesselFunctions, MatchTheHandbook)
{
  EXPECT_NEAR(std::abs(bessel_j(0, 1.0) - 0.7651976865579666), 0.0, 1e-15);
  EXPECT_NEAR(std::abs(bessel_j(1, 1.0) - 0.4400505857449335), 0.0, 1e-15);
  EXPECT_NEAR(
      std::abs(hankel2(0, 1.0) - Complex(0.7651976865579666, -0.0882569642156769)), 0.0,
      1e-15);
}

TEST(BesselFunctions, MatchTheStandardLibraryOnTheRealAxis)
{
  for (const int n : {0, 1, 5, 30, 70}) {
    for (const double x : {0.3, 4.0, 25.0}) {
      const auto order = static_cast<double>(n);
      EXPECT_LT(relative_difference(bessel_j(n, x), std::cyl_bessel_j(order, x)), 1e-11);
      const Complex h(std::cyl_bessel_j(order, x), -std::cyl_neumann(order, x));
      EXPECT_LT(relative_difference(hankel2(n, x), h), 1e-11) << n << ' ' << x;
    }
  }
}

// On the negative imaginary axis J_n(-jx) = (-j)^n I_n(x), H_n^(2)(-jx) = (2/pi) j^(n+1)
// K_n(x) (DLMF 10.27.6, 10.27.8).
TEST(BesselFunctions, MatchTheModifiedOnesOnTheImaginaryAxis)
{
  for (const int n : {0, 1, 2, 9}) {
    for (const double x : {0.4, 3.0, 17.0}) {
      const auto order = static_cast<double>(n);
      const Complex i = std::pow(Complex(0.0, -1.0), n) * std::cyl_bessel_i(order, x);
      const Complex k = 2.0 / std::numbers::pi * std::pow(Complex(0.0, 1.0), n + 1) *
                        std::cyl_bessel_k(order, x);
      EXPECT_LT(relative_difference(bessel_j(n, {0.0, -x}), i), 1e-12) << n << ' ' << x;
      EXPECT_LT(relative_difference(hankel2(n, {0.0, -x}), k), 1e-12) << n << ' ' << x;
    }
  }
}

// DLMF 10.5.5 for H^(2): J_(n+1) H_n - J_n H_(n+1) = -2j/(pi z); any order, complex z. In
// blocks of orders and across their ends.
TEST(BesselFunctions, KeepTheWronskian)
{
  for (const int n : {0, 1, 7, 31, 32, 60, 63, 64}) {
    for (const Complex z :
         {Complex(0.2, 0.0), Complex(3.0, -2.0), Complex(50.0, -20.0)}) {
      const Complex first = bessel_j(n + 1, z) * hankel2(n, z);
      const Complex second = bessel_j(n, z) * hankel2(n + 1, z);
      const Complex w = Complex(0.0, -2.0) / (std::numbers::pi * z);
      EXPECT_LT(std::abs(first - second - w), 1e-14 * std::abs(second)) << n << z;
    }
  }
}

TEST(BesselFunctions, TakeNegativeOrdersAndTheOrigin)
{
  const Complex z(1.5, -0.5);
  EXPECT_EQ(bessel_j(-3, z), -bessel_j(3, z));
  EXPECT_EQ(hankel2(-2, z), hankel2(2, z));
  EXPECT_EQ(bessel_j(0, 0.0), 1.0);
  EXPECT_EQ(bessel_j(4, 0.0), 0.0);
  EXPECT_THROW((void)hankel2(0, 0.0), std::domain_error);
  EXPECT_THROW((void)bessel_j(0, std::nan("")), std::domain_error);
}

}  // namespace
}  // namespace torsowave::solver
