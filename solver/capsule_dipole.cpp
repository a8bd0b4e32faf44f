#include "solver/capsule_dipole.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

#include "materials/checks.hpp"
#include "materials/constants.hpp"
#include "solver/bessel.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::vacuum_impedance;
using std::numbers::pi;

constexpr Complex imaginary_unit(0.0, 1.0);

void require_sound(const Capsule& capsule, double frequency)
{
  const auto positive = [](double value) { return std::isfinite(value) && value > 0.0; };
  const Complex eps = capsule.eps_tissue;
  materials::require_frequency(frequency);
  materials::require(positive(capsule.radius), "radius of the capsule [m]",
                     "finite and > 0", capsule.radius);
  materials::require(positive(capsule.eps_filling), "permittivity of the filling",
                     "real, finite and > 0", capsule.eps_filling);
  if (!std::isfinite(eps.real()) || !std::isfinite(eps.imag()) || eps.imag() > 0.0 ||
      (eps.imag() == 0.0 && eps.real() <= 0.0)) {
    throw std::invalid_argument(
        fmt::format("permittivity of the tissue must be finite, without gain (eps' - j "
                    "eps'', eps'' >= 0) and, without losses, > 0, got {} {:+}j",
                    eps.real(), eps.imag()));
  }
}

/// psi(x) = x j1(x) and its derivative, x > 0.
struct Regular {
  double value;
  double slope;
};

/// sin(x)/x - cos(x) loses all digits as x -> 0; there
///   x j1(x) = sum_m (-1)^m x^(2m+2)/(2^m m! (2m+3)!!)
/// (M. Abramowitz, I. A. Stegun, *Handbook of Mathematical Functions*, 1964, 10.1.2, from
/// memory), whose terms fall by x^2/(2m(2m+3)) each: 10 are enough below 1.
[[nodiscard]] Regular regular_wave(double x)
{
  if (x >= 1.0) {
    const double s = std::sin(x);
    const double c = std::cos(x);
    return {s / x - c, s - (s / x - c) / x};
  }
  constexpr int terms = 10;
  double term = x * x / 3.0;
  Regular sum{0.0, 0.0};
  for (int m = 0; m < terms; ++m) {
    sum.value += term;
    sum.slope += (2 * m + 2) * term / x;
    term *= -x * x / ((2 * m + 2) * (2 * m + 5));
  }
  return sum;
}

/// xi(y) exp(+j y) and xi'(y) exp(+j y): no exponential to overflow or vanish.
struct Outgoing {
  Complex value;
  Complex slope;
};

[[nodiscard]] Outgoing outgoing_wave(Complex y)
{
  const Complex q = 1.0 / y;
  return {imaginary_unit * q - 1.0, imaginary_unit * (1.0 - q * q) + q};
}

}  // namespace

CapsuleDipole::CapsuleDipole(const Capsule& capsule, double frequency) : capsule_(capsule)
{
  require_sound(capsule, frequency);
  k0_ = materials::two_pi * frequency / materials::speed_of_light;
  n2_ = std::sqrt(capsule.eps_tissue);
  const double n1 = std::sqrt(capsule.eps_filling);
  const Regular inside = regular_wave(k0_ * n1 * capsule.radius);
  const Outgoing outside = outgoing_wave(k0_ * n2_ * capsule.radius);
  scaled_ = outside.value * inside.slope - n1 / n2_ * outside.slope * inside.value;
}

void CapsuleDipole::require_outside(double r) const
{
  if (!std::isfinite(r) || r < capsule_.radius) {
    throw std::invalid_argument(
        fmt::format("radius [m] must be finite and >= {} (the capsule's), got {}",
                    capsule_.radius, r));
  }
}

// With peak phasors S_r = 1/2 Re(E_theta H_phi*), and sin^2(theta) integrates to 8 pi/3
// over the sphere:
//   P(r) = r^2 (8 pi/3) (1/2) Re(e f*) = (4 pi/3) r^2 Re(e f*),
// that is 2 pi r^2 (2/3) Re(e f*) with the 1/2 of peak phasors already in it. Outside, f
// = C xi(z)/(k2 r) and e = -C xi'(z)/(j w eps0 eps2 r), z = k2 r, so
//   P(r) = (eta0 k1^2/(12 pi |D|^2)) Re(j xi'(z) xi(z)*/n2).
// Written out with q = 1/|z| and n2 = |n2| exp(-j d), hence eps2 = |eps2| exp(-2 j d),
//   Re(j xi' xi*/n2) = (exp(2 Im z)/|n2|)
//     [cos(d) + q sin(2d) + 2 q^2 sin(d) sin(2d) + q^3 sin(2d)]:
// only positive terms, nothing cancels. The last is the quasistatic near field, whose
// losses go as 1/r^3 and let no dipole be bare in tissue.
double CapsuleDipole::power_through(double r) const
{
  require_outside(r);
  const double n = std::abs(n2_);
  const double q = 1.0 / (k0_ * n * r);
  const double sine = -n2_.imag() / n;
  const double sine_twice = -capsule_.eps_tissue.imag() / std::abs(capsule_.eps_tissue);
  const double bracket =
      n2_.real() / n + sine_twice * (q + 2.0 * q * q * sine + q * q * q);
  const double decay = std::exp(2.0 * k0_ * n2_.imag() * (r - capsule_.radius));
  return vacuum_impedance * k0_ * k0_ * capsule_.eps_filling * bracket * decay /
         (12.0 * pi * n * std::norm(scaled_));
}

CapsuleDipoleField CapsuleDipole::field(double r) const
{
  require_outside(r);
  const Complex k2 = k0_ * n2_;
  const Outgoing wave = outgoing_wave(k2 * r);
  const Complex travelled = std::exp(-imaginary_unit * k2 * (r - capsule_.radius));
  const Complex over_r =  // C/(k2 r), and E_theta = j eta xi' C/(k2 r)
      k0_ * std::sqrt(capsule_.eps_filling) * travelled / (4.0 * pi * scaled_ * r);
  const Complex h = over_r * wave.value;
  const Complex impedance = vacuum_impedance / n2_;
  return {h, imaginary_unit * impedance * over_r * wave.slope,
          -2.0 * imaginary_unit * impedance * h / (k2 * r)};
}

Complex CapsuleDipole::outside_moment() const
{
  const Complex turn = imaginary_unit * k0_ * n2_ * capsule_.radius;
  return imaginary_unit * std::sqrt(capsule_.eps_filling) * std::exp(turn) /
         (n2_ * scaled_);
}

// With x = k1 a, y = k2 a. Line current: Ez ~ H0(k1 rho) + b J0(k1 rho) inside, m H0(k2
// rho) outside, Ez and dEz/drho continuous. Dipole: Hz ~ k1 [H1(k1 rho) + b J1(k1 rho)],
// m k2 H1(k2 rho), Hz and (1/eps) dHz/drho continuous. b drops out by the Wronskian J_n
// H_n' - J_n' H_n = -2j/(pi x) (DLMF 10.5.5):
//   m = -(2j/pi)/[x J1(x) H0(y) - y H1(y) J0(x)],
//   m = -(2j/pi)/(x [H1'(y) J1(x) - (y/x) H1(y) J1'(x)]).
// R. F. Harrington, *Time-Harmonic Electromagnetic Fields*, 1961, ch. 5 (from memory).
Complex line_outside_moment(const Capsule& capsule, double frequency, RadiatorKind kind)
{
  require_sound(capsule, frequency);
  const double k0 = materials::two_pi * frequency / materials::speed_of_light;
  const double x = k0 * std::sqrt(capsule.eps_filling) * capsule.radius;
  const Complex y = k0 * std::sqrt(capsule.eps_tissue) * capsule.radius;
  const Complex j0 = bessel_j(0, x);
  const Complex j1 = bessel_j(1, x);
  const Complex h0 = hankel2(0, y);
  const Complex h1 = hankel2(1, y);
  const Complex wronskian = -2.0 * imaginary_unit / pi;
  switch (kind) {
    case RadiatorKind::line_current:
      return wronskian / (x * j1 * h0 - y * h1 * j0);
    case RadiatorKind::dipole:
      return wronskian / (x * (h0 - h1 / y) * j1 - y * h1 * (j0 - j1 / x));
    default:
      throw std::invalid_argument(
          "a capsule's factor is known for a line current and an in-plane dipole alone");
  }
}

}  // namespace torsowave::solver
