// Powers of layered cylinders: balances, quadratures of fluxes and losses, optical
// theorem.

#include <gtest/gtest.h>

#include <array>
#include <chrono>
#include <cmath>
#include <complex>
#include <numbers>
#include <ostream>
#include <string>
#include <vector>

#include "published/layered_cylinder_cases.hpp"

namespace torsowave::reference {
namespace {

using solver::Polarisation;
using std::numbers::pi;

/// Flux (1/2) Re(E x H*) outward through a circle about the body's centre, from the
/// fields at equal steps: the trapezoidal rule converges faster than any power for a
/// periodic integrand.
double flux_by_quadrature(const cylinder::Solution& solution, Polarisation polarisation,
                          double radius, int count)
{
  const std::vector<double> angles = full_turn(count);
  const std::vector<cylinder::Field> fields = solution.on_circle(radius, angles);
  double sum = 0.0;
  for (std::size_t i = 0; i < angles.size(); ++i) {
    const cylinder::Field& at = fields[i];
    const Complex across =
        at.y * std::cos(angles[i]) - at.x * std::sin(angles[i]);  // along phi
    sum += polarisation == Polarisation::tmz ? -(at.z * std::conj(across)).real()
                                             : (across * std::conj(at.z)).real();
  }
  return 0.5 * sum * materials::two_pi * radius / count;
}

struct PowerCase {
  std::string name;
  Polarisation polarisation;
  cylinder::Source source;
};

std::ostream& operator<<(std::ostream& stream, const PowerCase& shown)
{
  return stream << shown.name;
}

class Powers : public testing::TestWithParam<PowerCase> {
protected:
  [[nodiscard]] cylinder::Solution solution(const cylinder::Body& body) const
  {
    return {body, GetParam().polarisation, mics, GetParam().source};
  }
};

INSTANTIATE_TEST_SUITE_P(
    AllSources, Powers,
    testing::Values(PowerCase{"electric_line_in_capsule", Polarisation::tmz,
                              cylinder::LineSource{{0.004, 0.002}}},
                    PowerCase{"electric_line_in_muscle", Polarisation::tmz,
                              cylinder::LineSource{{0.02, 0.02}}},
                    PowerCase{"electric_line_in_air", Polarisation::tmz,
                              cylinder::LineSource{{0.1, 0.02}}},
                    PowerCase{"magnetic_line_in_capsule", Polarisation::tez,
                              cylinder::LineSource{{0.004, 0.002}}},
                    PowerCase{"magnetic_line_in_air", Polarisation::tez,
                              cylinder::LineSource{{0.1, 0.02}}},
                    PowerCase{"dipole_in_capsule", Polarisation::tez,
                              cylinder::Dipole{{0.004, 0.002}, 0.7}},
                    PowerCase{"dipole_in_air", Polarisation::tez,
                              cylinder::Dipole{{0.1, 0.02}, 0.7}},
                    PowerCase{"wave_tmz", Polarisation::tmz, cylinder::PlaneWave{0.5}},
                    PowerCase{"wave_tez", Polarisation::tez, cylinder::PlaneWave{0.5}}),
    [](const auto& instance) { return instance.param.name; });

TEST_P(Powers, BalanceCloses)
{
  const cylinder::Powers powers = solution(round_trunk()).powers();
  double sum = 0.0;
  for (const std::optional<double>& absorbed : powers.absorbed) {
    EXPECT_GE(absorbed.value(), 0.0);
    sum += absorbed.value();
  }
  EXPECT_EQ(powers.absorbed.at(0), 0.0);  // the capsule has no losses
  const double in = powers.delivered ? *powers.delivered : powers.extinguished.value();
  const double out = powers.radiated ? *powers.radiated : powers.scattered.value();
  EXPECT_NEAR(sum + out, in, 1e-14 * in);
  EXPECT_LT(powers.relative_error, 1e-14);
}

// Also through the source's own medium, on both sides of it.
TEST_P(Powers, FluxIsTheQuadratureOfTheFields)
{
  const cylinder::Solution exact = solution(round_trunk());
  for (const double radius : {0.009, 0.0095, 0.05, 0.085, 0.09, 0.3}) {
    const double flux = exact.power_through(radius);
    EXPECT_NEAR(flux_by_quadrature(exact, GetParam().polarisation, radius, 400), flux,
                2e-13 * std::abs(exact.powers().leaving) + 1e-12 * std::abs(flux))
        << radius;
  }
}

TEST_P(Powers, FarFieldIntegratesToWhatGoesOut)
{
  const cylinder::Solution exact = solution(round_trunk());
  const cylinder::Powers powers = exact.powers();
  double sum = 0.0;
  for (const cylinder::FarField& far : exact.far_field(full_turn(64))) {
    sum += far.intensity * materials::two_pi / 64.0;
  }
  const double out = powers.radiated ? *powers.radiated : powers.scattered.value();
  EXPECT_NEAR(sum, out, 1e-13 * out);
}

// Heat by fluxes against the volume integral of (1/2) w eps'' |E|^2 in fat:
// Gauss-Legendre in radius (nodes and weights of order 8: M. Abramowitz, I. A. Stegun,
// 1964, table 25.4, from memory; they integrate 1 and rho exactly below), trapezoidal
// round the circle.
TEST_P(Powers, AbsorbedIsTheIntegralOfTheLoss)
{
  constexpr std::array<double, 4> nodes{0.1834346424956498, 0.5255324099163290,
                                        0.7966664774136267, 0.9602898564975363};
  constexpr std::array<double, 4> weights{0.3626837833783620, 0.3137066458778873,
                                          0.2223810344533745, 0.1012285362903763};
  const cylinder::Solution exact = solution(round_trunk());
  const bool is_te = GetParam().polarisation == Polarisation::tez;
  double integral = 0.0;
  double area = 0.0;
  for (std::size_t i = 0; i < 8; ++i) {
    const double node = i < 4 ? nodes.at(i) : -nodes.at(i - 4);
    const double rho = 0.07 + 0.01 * node;
    const double ring = 0.01 * weights.at(i % 4) * rho * materials::two_pi;
    double mean = 0.0;
    for (const cylinder::Field& at : exact.on_circle(rho, full_turn(128))) {
      mean += (is_te ? std::norm(at.x) + std::norm(at.y) : std::norm(at.z)) / 128.0;
    }
    integral += ring * mean;
    area += ring;
  }
  EXPECT_NEAR(area, pi * (0.08 * 0.08 - 0.06 * 0.06), 1e-15);
  const double absorbed = exact.powers().absorbed.at(2).value();
  EXPECT_NEAR(0.5 * 0.04 * integral, absorbed, 1e-8 * absorbed);
}

// In a lossy layer a TEz source heats its own surroundings without limit; what crosses
// interfaces farther out is well defined.
TEST(PowersInALossyLayer, HaveNoLimitForTezSources)
{
  for (const cylinder::Source& source :
       {cylinder::Source{cylinder::LineSource{{0.03, 0.0}}},
        cylinder::Source{cylinder::Dipole{{0.03, 0.0}, 0.4}}}) {
    const cylinder::Solution exact(round_trunk(), Polarisation::tez, mics, source);
    const cylinder::Powers powers = exact.powers();
    EXPECT_FALSE(powers.delivered.has_value());
    EXPECT_FALSE(powers.absorbed.at(1).has_value());
    EXPECT_NEAR(powers.absorbed.at(2).value() + powers.absorbed.at(3).value() +
                    powers.radiated.value(),
                exact.power_through(0.06), 1e-14 * exact.power_through(0.06));
  }
}

// The flux through circles ever smaller about a source on the axis: to a limit, as (r ln
// r)^2, for the electric line, whose E grows as ln r; without one for the others.
TEST(PowersInALossyLayer, AreFluxesThroughSmallCircles)
{
  const cylinder::Body body{{{0.1, lossy(57.0, 0.8, mics)}}};
  const cylinder::Solution electric(body, Polarisation::tmz, mics,
                                    cylinder::LineSource{});
  const double delivered = electric.powers().delivered.value();
  EXPECT_NEAR(electric.power_through(1e-8), delivered, 1e-10 * delivered);
  const cylinder::Solution magnetic(body, Polarisation::tez, mics,
                                    cylinder::LineSource{});
  // The loss between two circles: E_phi = K/(2 pi r), sigma/2 |E|^2 2 pi r dr.
  EXPECT_NEAR(magnetic.power_through(1e-8) - magnetic.power_through(1e-6),
              0.8 / (4.0 * pi) * std::log(100.0), 1e-6);
}

TEST(LosslessBody, RadiatesAllThatItIsFed)
{
  const cylinder::Body body{{{0.06, 57.0}, {0.08, 5.6}, {0.1, 46.0}}};
  for (const Polarisation mode : {Polarisation::tmz, Polarisation::tez}) {
    const cylinder::Solution exact(body, mode, mics, cylinder::LineSource{{0.04, 0.0}});
    const double fed = exact.powers().delivered.value();
    EXPECT_GT(fed, 0.0);
    EXPECT_NEAR(exact.powers().radiated.value(), fed, 1e-14 * fed);
    for (const double radius : {0.05, 0.07, 0.09, 0.3}) {
      EXPECT_NEAR(exact.power_through(radius), fed, 1e-14 * fed) << radius;
    }
    EXPECT_EQ(exact.power_through(0.02), 0.0);
  }
}

// Optical theorem: what a lossless body scatters is what it takes, and that is told by
// the forward direction alone. With psi_s -> F exp(-j k r)/sqrt(r) the cross term of
// incident and scattered wave takes P_ext = -sqrt(8 pi/k) Re(F(forward) exp(-j pi/4)
// psi_i*) k p/(2 omega kappa) (stationary phase; derived).
TEST(OpticalTheorem, HoldsForLosslessAndLossyBodies)
{
  const double k = materials::two_pi * mics / materials::speed_of_light;
  for (const bool is_lossy : {false, true}) {
    cylinder::Body body{{{0.05, 20.0}, {0.15, is_lossy ? lossy(57.0, 0.8, mics) : 57.0}}};
    for (const Polarisation mode : {Polarisation::tmz, Polarisation::tez}) {
      const cylinder::Solution exact(body, mode, mics, cylinder::PlaneWave{0.8});
      const cylinder::Powers powers = exact.powers();
      const Complex forward = far_field_at(exact, 0.8).amplitude;
      const double impedance = mode == Polarisation::tmz
                                   ? 1.0 / materials::vacuum_impedance
                                   : materials::vacuum_impedance;
      const double incident =
          mode == Polarisation::tmz ? 1.0 : 1.0 / materials::vacuum_impedance;
      const double taken = -std::sqrt(8.0 * pi / k) * 0.5 * impedance * incident *
                           (forward * std::polar(1.0, -pi / 4.0)).real();
      EXPECT_NEAR(powers.extinguished.value(), taken, 1e-13 * taken);
      if (is_lossy) {
        EXPECT_NEAR(powers.extinguished.value() - powers.scattered.value(),
                    -powers.leaving, 1e-14 * taken);
        EXPECT_GT(-powers.leaving, 0.0);
      } else {
        EXPECT_NEAR(powers.scattered.value(), taken, 1e-13 * taken);
        EXPECT_EQ(powers.leaving, 0.0);
      }
    }
  }
}

// |k a| of about 60 with loss, a source near the wall: many modes, a wide range of sizes;
// the far side is 150 dB down in the tissue.
TEST(LargeBody, StaysExact)
{
  const Complex medium = lossy(53.0, 1.7, ism);
  const cylinder::Body body{{{0.15, medium}, {0.16, 5.3}}};
  for (const Polarisation mode : {Polarisation::tmz, Polarisation::tez}) {
    const cylinder::Solution exact(body, mode, ism, cylinder::LineSource{{0.13, 0.0}});
    const cylinder::Powers powers = exact.powers();
    EXPECT_EQ(powers.absorbed.at(1), 0.0);
    EXPECT_NEAR(powers.radiated.value(), exact.power_through(0.15),
                1e-14 * powers.radiated.value());
    EXPECT_LT(exact.at({-0.149, 0.0}).relative_error, 1e-14);
    EXPECT_LT(relative_difference(field_on_circle(exact, 0.15 + 1e-14, 3.0).z,
                                  field_on_circle(exact, 0.15, 3.0).z),
              1e-9);
  }
}

// What a sweep asks for: 30 frequencies, 360 angles near and far, powers. Measured: 1.4 s
// on one core; the bound leaves room for a busy machine and debug builds.
TEST(LargeBody, IsFastEnoughForASweep)
{
#if defined(__SANITIZE_ADDRESS__)
  GTEST_SKIP() << "says nothing of the time under sanitizers";
#endif
  const auto start = std::chrono::steady_clock::now();
  double worst = 0.0;
  for (int n = 0; n < 30; ++n) {
    const double f = 0.3e9 + n * 0.1e9;
    const cylinder::Body body{{{0.005, 2.5},
                               {0.12, lossy(55.0, 1.2, f)},
                               {0.14, lossy(5.4, 0.08, f)},
                               {0.143, lossy(40.0, 1.3, f)}}};
    const cylinder::Solution exact(body, Polarisation::tez, f,
                                   cylinder::Dipole{{0.002, 0.001}, 0.3});
    worst = std::max(worst, exact.powers().relative_error);
    for (const cylinder::Field& at : exact.on_circle(0.3, full_turn(360))) {
      worst = std::max(worst, at.relative_error);
    }
    for (const cylinder::FarField& far : exact.far_field(full_turn(360))) {
      worst = std::max(worst, far.relative_error);
    }
  }
  const std::chrono::duration<double> seconds = std::chrono::steady_clock::now() - start;
  RecordProperty("seconds", std::to_string(seconds.count()));
  EXPECT_LT(worst, 1e-15);
  EXPECT_LT(seconds.count(), 30.0);
}

}  // namespace
}  // namespace torsowave::reference
