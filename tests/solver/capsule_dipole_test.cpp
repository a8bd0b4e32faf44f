// A dipole in a spherical capsule: textbook limits, a second evaluation in ball
// arithmetic, energy.

#include "solver/capsule_dipole.hpp"

#include <acb_hypgeom.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

#include "materials/constants.hpp"
#include "solver/ball_internal.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::vacuum_impedance;
using std::numbers::pi;

double k0_of(double frequency)
{
  return materials::two_pi * frequency / materials::speed_of_light;
}

/// Permittivity and frequency of the textbook's tissues, rounded, and invented extremes.
struct Case {
  Capsule capsule;
  double frequency;
};

const std::vector<Case> cases{
    {{5e-3, 1.0, {57.1, -36.0}}, 403.5e6},   // about muscle, MICS band
    {{5e-3, 1.0, {52.7, -12.7}}, 2.45e9},    // about muscle
    {{3e-3, 2.5, {5.28, -0.77}}, 2.45e9},    // about fat
    {{5e-5, 1.0, {57.1, -36.0}}, 403.5e6},   // k a = 4e-4
    {{2e-6, 4.0, {80.0, -1e-3}}, 1e6},       // k a = 1e-7
    {{40e-3, 9.0, {52.7, -12.7}}, 2.45e9},   // k a = 6, beyond the series
    {{300e-3, 2.0, {57.1, -36.0}}, 2.45e9},  // exp(-2 alpha a) = 3e-31
    {{5e-3, 3.0, {-20.0, -2000.0}}, 403.5e6},
};

/// H_phi, E_theta and power in ball arithmetic: A, B and C from both conditions of
/// continuity by Cramer's rule, spherical functions as Bessel functions of half-integer
/// order (DLMF 10.47.3-10.47.6), nothing eliminated and nothing in elementary functions.
class Exact {
public:
  explicit Exact(const Case& of)
      : a_(number(of.capsule.radius)),
        eps1_(number(of.capsule.eps_filling)),
        eps2_(number(of.capsule.eps_tissue)),
        k0_(2 * pi_ * number(of.frequency) / number(materials::speed_of_light))
  {
    const Ball k1 = k0_ * sqrt(eps1_);
    const Ball k2 = k0_ * sqrt(eps2_);
    const std::array<Ball, 2> j = wave(k1 * a_, false);
    const std::array<Ball, 2> h = wave(k1 * a_, true);
    const std::array<Ball, 2> out = wave(k2 * a_, true);
    source_ = -(turned(k1 * k1, 1) / (4 * pi_));
    // B j - C out = -A h;  B j'/eps1 - C out'/eps2 = -A h'/eps1
    const Ball determinant = out[0] * (j[1] / eps1_) - j[0] * (out[1] / eps2_);
    inside_ = source_ * (h[0] * (out[1] / eps2_) - out[0] * (h[1] / eps1_)) / determinant;
    outside_ = source_ * (h[0] * (j[1] / eps1_) - j[0] * (h[1] / eps1_)) / determinant;
  }

  /// What the field that the capsule sends back adds at the source: P = eta k1^2/(12 pi)
  /// (1 + Re(B/A)), from E_z = 2 B k1/(3 j w eps1) there and P = -1/2 Re(E_z I l).
  [[nodiscard]] double delivered() const
  {
    const Ball bare = number(vacuum_impedance) * k0_ * k0_ * sqrt(eps1_) / (12 * pi_);
    const Ball power = bare * (number(1.0) + real(inside_ / source_));
    EXPECT_GT(power.accurate_bits(), 60);
    return power.middle().real();
  }

  /// f and e at r.
  [[nodiscard]] std::array<Complex, 2> fields(double r) const
  {
    const std::array<Ball, 2> out = wave(k0_ * sqrt(eps2_) * number(r), true);
    const Ball f = outside_ * out[0];
    const Ball e =
        outside_ * out[1] * number(vacuum_impedance) / (k0_ * eps2_ * number(r));
    EXPECT_GT(std::min(f.accurate_bits(), e.accurate_bits()), 60);
    return {f.middle(), turned(e, 1).middle()};
  }

private:
  static constexpr long bits = 2048;  // a ball widens by exp(2 |z|) on the way through

  static Ball number(Complex value) { return {value, bits}; }

  /// c1(z) and d(z c1)/dz = z c0 - c1 of j or h = j - j y.
  static std::array<Ball, 2> wave(const Ball& z, bool outgoing)
  {
    const std::array<Ball, 2> c{of_order(0.5, z, outgoing), of_order(1.5, z, outgoing)};
    return {c[1], z * c[0] - c[1]};
  }

  static Ball of_order(double order, const Ball& z, bool outgoing)
  {
    Ball j = Ball::with_bits(bits);
    acb_hypgeom_bessel_j(j.get(), number(order).get(), z.get(), bits);
    if (outgoing) {
      Ball y = Ball::with_bits(bits);
      acb_hypgeom_bessel_y(y.get(), number(order).get(), z.get(), bits);
      j = j - turned(y, 1);
    }
    return j * sqrt(solver::pi(bits) / (2 * z));
  }

  Ball pi_ = solver::pi(bits);
  Ball a_, eps1_, eps2_, k0_;
  Ball source_, inside_, outside_;
};

double relative(Complex found, Complex wanted)
{
  return std::abs(found / wanted - 1.0);
}

// eta0 k0^2/(12 pi) per (1 A m)^2, through every sphere (C. A. Balanis, *Antenna Theory*,
// ch. 4, from memory: eta (pi/3) (I l/lambda)^2 with peak phasors).
TEST(CapsuleDipole, DeliversTheTextbooksPowerInAir)
{
  for (const double radius : {1e-6, 5e-3, 0.2}) {
    const CapsuleDipole dipole({radius, 1.0, 1.0}, 403.5e6);
    const double k0 = k0_of(403.5e6);
    const double power = vacuum_impedance * k0 * k0 / (12.0 * pi);
    EXPECT_LT(relative(dipole.delivered(), power), 2e-15) << radius;
    EXPECT_LT(relative(dipole.power_through(3.0 * radius), power), 2e-15) << radius;
    EXPECT_LT(relative(dipole.outside_moment(), 1.0), 2e-15) << radius;
  }
}

// The same source's closed form (Balanis, ch. 4, from memory): H_phi = (j k/(4 pi r)) (1
// + 1/(j k r)) exp(-j k r), E_r = (eta/(2 pi r^2)) (1 + 1/(j k r)) exp(-j k r), E_theta =
// (j eta k/(4 pi r)) (1 + 1/(j k r) - 1/(k r)^2) exp(-j k r).
TEST(CapsuleDipole, HasTheTextbooksFieldsInOneMedium)
{
  const double k = 2.0 * k0_of(1e9);
  const CapsuleDipole dipole({2e-3, 4.0, 4.0}, 1e9);
  const Complex j(0.0, 1.0);
  for (const double r : {2e-3, 30e-3, 1.0}) {
    const CapsuleDipoleField field = dipole.field(r);
    const Complex wave = std::exp(-j * k * r) / (4.0 * pi * r);
    const Complex near = 1.0 + 1.0 / (j * k * r);
    const double eta = vacuum_impedance / 2.0;
    EXPECT_LT(relative(field.h_phi, j * k * near * wave), 1e-13);
    EXPECT_LT(relative(field.e_r, 2.0 * eta / r * near * wave), 1e-13);
    EXPECT_LT(
        relative(field.e_theta, j * eta * k * (near - 1.0 / (k * k * r * r)) * wave),
        1e-13);
  }
}

TEST(CapsuleDipole, AgreesWithASecondEvaluationInHighPrecision)
{
  std::array<double, 2> worst{};  // power, fields
  for (std::size_t n = 0; n < cases.size(); ++n) {
    const Capsule& capsule = cases[n].capsule;
    const CapsuleDipole dipole(capsule, cases[n].frequency);
    const Exact exact(cases[n]);
    worst[0] = std::max(worst[0], relative(dipole.delivered(), exact.delivered()));
    EXPECT_LT(relative(dipole.delivered(), exact.delivered()), 1e-13) << n;
    for (const double r : {capsule.radius, 1.1 * capsule.radius, 4.0 * capsule.radius}) {
      const auto [f, e] = exact.fields(r);
      const CapsuleDipoleField field = dipole.field(r);
      worst[1] =
          std::max({worst[1], relative(field.h_phi, f), relative(field.e_theta, e)});
      EXPECT_LT(relative(field.h_phi, f), 1e-13) << n << ' ' << r;
      EXPECT_LT(relative(field.e_theta, e), 1e-13) << n << ' ' << r;
    }
  }
  RecordProperty("worst_power", std::to_string(worst[0] * 1e15) + "e-15");
  RecordProperty("worst_field", std::to_string(worst[1] * 1e15) + "e-15");
}

// All that is delivered reaches infinity, where |f|^2 r^2 is the far field's.
TEST(CapsuleDipole, LosesNothingInLosslessMedia)
{
  for (const double filling : {2.5, 10.0, 80.0}) {
    for (const double radius : {1e-3, 10e-3, 60e-3}) {
      const CapsuleDipole dipole({radius, filling, 1.0}, 2.45e9);
      const double far = 1e7;  // [m]; 1/(k r)^2 = 4e-18
      const double radiated =
          4.0 * pi / 3.0 * vacuum_impedance * std::norm(far * dipole.field(far).h_phi);
      EXPECT_LT(relative(dipole.delivered(), radiated), 1e-13) << filling << radius;
      EXPECT_LT(relative(dipole.power_through(10.0 * radius), radiated), 1e-13);
    }
  }
}

/// Heat between two spheres, (w eps0 eps''/2) int |E|^2 dV, by Simpson's rule over ln r.
double heat_between(const CapsuleDipole& dipole, const Case& of, double from, double to)
{
  const int steps = 2000;
  const double width = std::log(to / from) / steps;
  double sum = 0.0;
  for (int n = 0; n <= steps; ++n) {
    const double r = from * std::exp(n * width);
    const CapsuleDipoleField field = dipole.field(r);
    const double squares =  // over the angles: sin^2 gives 8 pi/3, cos^2 gives 4 pi/3
        8.0 * pi / 3.0 * std::norm(field.e_theta) + 4.0 * pi / 3.0 * std::norm(field.e_r);
    const double weight = n == 0 || n == steps ? 1.0 : n % 2 == 1 ? 4.0 : 2.0;
    sum += weight * squares * r * r * r;
  }
  return sum * width / 3.0 * pi * of.frequency * materials::vacuum_permittivity *
         -of.capsule.eps_tissue.imag();
}

TEST(CapsuleDipole, HeatsTheTissueByWhatIsMissingFurtherOut)
{
  for (std::size_t n = 0; n < 3; ++n) {
    const double a = cases[n].capsule.radius;
    const CapsuleDipole dipole(cases[n].capsule, cases[n].frequency);
    double before = dipole.delivered();
    for (const double r : {1.01 * a, 2.0 * a, 10.0 * a, 30.0 * a}) {
      const double through = dipole.power_through(r);
      EXPECT_LT(through, before) << n << ' ' << r;
      EXPECT_LT(
          std::abs(dipole.delivered() - through - heat_between(dipole, cases[n], a, r)),
          1e-9 * dipole.delivered())
          << n << ' ' << r;
      before = through;
    }
  }
}

// A dipole in a small cavity: 3 eps2/(2 eps2 + eps1) outside (J. D. Jackson, *Classical
// Electrodynamics*, ch. 4, method of sec. 4.4, from memory); in a cylinder, across its
// axis, 2 eps2/(eps2 + eps1), along it 1. The rest goes as (k a)^2, ln(k a) in a
// cylinder.
TEST(OutsideMoment, IsTheStaticOneForSmallCapsules)
{
  const Capsule capsule{1e-7, 3.0, {57.1, -36.0}};
  const Complex eps2 = capsule.eps_tissue;
  const double f = 403.5e6;
  EXPECT_LT(relative(CapsuleDipole(capsule, f).outside_moment(),
                     3.0 * eps2 / (2.0 * eps2 + 3.0)),
            1e-10);
  EXPECT_LT(relative(line_outside_moment(capsule, f, RadiatorKind::dipole),
                     2.0 * eps2 / (eps2 + 3.0)),
            1e-9);
  EXPECT_LT(relative(line_outside_moment(capsule, f, RadiatorKind::line_current), 1.0),
            1e-9);
}

TEST(OutsideMoment, OfALineIsThatOfTheSeriesForCylinders)
{
  const geometry::Point at{0.12, 0.05};
  for (std::size_t n = 0; n < 3; ++n) {
    const Capsule& capsule = cases[n].capsule;
    const double f = cases[n].frequency;
    for (const RadiatorKind kind : {RadiatorKind::line_current, RadiatorKind::dipole}) {
      const bool tez = kind == RadiatorKind::dipole;
      const cylinder::Source source = tez ? cylinder::Source(cylinder::Dipole{{}, 0.3})
                                          : cylinder::Source(cylinder::LineSource{{}});
      const auto field = [&](const std::vector<cylinder::Layer>& layers) {
        const Polarisation polarisation = tez ? Polarisation::tez : Polarisation::tmz;
        return cylinder::Solution({layers, capsule.eps_tissue}, polarisation, f, source)
            .at(at)
            .z;
      };
      const Complex ratio = field({{capsule.radius, capsule.eps_filling}}) / field({});
      EXPECT_LT(relative(line_outside_moment(capsule, f, kind), ratio), 1e-12) << n;
    }
  }
}

TEST(CapsuleDipole, RefusesWhatHasNoAnswer)
{
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto refuses = [](const Capsule& capsule, double frequency) {
    EXPECT_THROW(CapsuleDipole(capsule, frequency), std::invalid_argument);
    EXPECT_THROW(static_cast<void>(
                     line_outside_moment(capsule, frequency, RadiatorKind::line_current)),
                 std::invalid_argument);
  };
  refuses({0.0, 1.0, 4.0}, 1e9);
  refuses({-1e-3, 1.0, 4.0}, 1e9);
  refuses({nan, 1.0, 4.0}, 1e9);
  refuses({1e-3, 0.0, 4.0}, 1e9);
  refuses({1e-3, -2.0, 4.0}, 1e9);
  refuses({1e-3, 1.0, {4.0, 0.1}}, 1e9);  // gain
  refuses({1e-3, 1.0, -4.0}, 1e9);        // no wave
  refuses({1e-3, 1.0, {nan, 0.0}}, 1e9);
  refuses({1e-3, 1.0, 4.0}, 0.0);
  const CapsuleDipole dipole({1e-3, 1.0, 4.0}, 1e9);
  EXPECT_THROW(static_cast<void>(dipole.power_through(0.9e-3)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(dipole.field(nan)), std::invalid_argument);
  EXPECT_THROW(static_cast<void>(line_outside_moment({1e-3, 1.0, 4.0}, 1e9,
                                                     RadiatorKind::magnetic_line)),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
