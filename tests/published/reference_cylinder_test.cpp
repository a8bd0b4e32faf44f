#include "published/reference_cylinder.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>
#include <string>

#include "materials/constants.hpp"

namespace torsowave::reference {
namespace {

using std::numbers::pi;
using Complex = std::complex<double>;

constexpr double mics = 403.5e6;
constexpr double ism = 2.45e9;

double relative_difference(Complex value, Complex expected)
{
  return std::abs(value - expected) / std::abs(expected);
}

Complex lossy(double permittivity, double conductivity, double frequency)
{
  return {permittivity, -conductivity / (materials::two_pi * frequency *
                                         materials::vacuum_permittivity)};
}

/// Three lossy layers with an off-axis source, in air.
LayeredCylinder three_layers(double source_radius = 0.03, double source_angle = 0.4)
{
  return {{{0.06, lossy(57.0, 0.80, mics)},
           {0.08, lossy(5.6, 0.04, mics)},
           {0.085, lossy(46.7, 0.69, mics)}},
          1.0,
          mics,
          source_radius,
          source_angle};
}

// J_0(1), J_1(1), Y_0(1) from M. Abramowitz, I. A. Stegun, *Handbook of Mathematical
// Functions*, 1964, table 9.1 (digits from memory; Arb's bound confirms them).
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
  for (const int n : {0, 1, 5, 30}) {
    for (const double x : {0.3, 4.0, 25.0}) {
      const auto order = static_cast<double>(n);
      EXPECT_LT(relative_difference(bessel_j(n, x), std::cyl_bessel_j(order, x)), 1e-11);
      const Complex h(std::cyl_bessel_j(order, x), -std::cyl_neumann(order, x));
      EXPECT_LT(relative_difference(hankel2(n, x), h), 1e-11) << n << ' ' << x;
    }
  }
}

// DLMF 10.5.5 with H^(2): J H' - J' H = -2j/(pi z); holds for any order and complex
// argument.
TEST(BesselFunctions, KeepTheWronskian)
{
  for (const int n : {0, 1, 7, 60}) {
    for (const Complex z :
         {Complex(0.2, 0.0), Complex(3.0, -2.0), Complex(50.0, -20.0)}) {
      const Complex w = bessel_j(n, z) * hankel2_derivative(n, z) -
                        bessel_j_derivative(n, z) * hankel2(n, z);
      EXPECT_LT(relative_difference(w, Complex(0.0, -2.0) / (pi * z)), 1e-12) << n << z;
    }
  }
}

TEST(BesselFunctions, TakeNegativeOrdersAndTheOrigin)
{
  const Complex z(1.5, -0.5);
  EXPECT_EQ(bessel_j(-3, z), -bessel_j(3, z));
  EXPECT_EQ(hankel2(-2, z), hankel2(2, z));
  EXPECT_EQ(bessel_j(0, 0.0), 1.0);
  EXPECT_EQ(bessel_j_derivative(1, 0.0), 0.5);
  EXPECT_THROW((void)hankel2(0, 0.0), std::domain_error);
}

struct LineCase {
  const char* name;
  double frequency, permittivity, conductivity, magnitude, angle_degrees;
  double last_digit;  ///< of the magnitude
};

class LineSource : public testing::TestWithParam<LineCase> {};

// Rows LINE-* of the project's table of check values: computed there from the closed form
// of Rothwell & Cloud (eq. 4.343) in another language with another Bessel library; not
// published.
TEST_P(LineSource, MatchesTheComputedTable)
{
  const LineCase& c = GetParam();
  const Complex field = line_source_field(
      lossy(c.permittivity, c.conductivity, c.frequency), c.frequency, 0.05);
  EXPECT_NEAR(std::abs(field), c.magnitude, 0.5 * c.last_digit) << c.name;
  EXPECT_NEAR(std::arg(field) * 180.0 / pi, c.angle_degrees, 0.5e-4) << c.name;
}

INSTANTIATE_TEST_SUITE_P(
    Computed, LineSource,
    testing::Values(LineCase{"air403", mics, 1.0, 0.0, 884.869, -149.3528, 1e-3},
                    LineCase{"muscle403", mics, 57.0, 0.8, 129.487, 43.8685, 1e-3},
                    LineCase{"muscle2450", ism, 53.0, 1.7, 99.6805, -129.5224, 1e-4}),
    [](const auto& instance) { return std::string(instance.param.name); });

TEST(LineSourcePower, IsOmegaMuEighthsInFreeSpace)  // computed, not published
{
  EXPECT_NEAR(line_source_power(1.0, mics), 398.239, 5e-4);
}

struct CylinderCase {
  const char* name;
  double frequency, permittivity, conductivity, radius, source_radius;
  std::array<double, 3> field;  ///< |E_z| at 0.5 m and 0, 90, 180 degrees [V/m]
  double radiated;              ///< [W/m]
};

class Cylinder : public testing::TestWithParam<CylinderCase> {};

// Computed from the eigenfunction series of one cylinder in double precision by a
// separate program when the project's check values were gathered; not published numbers.
// The 90 degree values of B and D gathered there (26.010893, 63.702121) are sums cut
// after n = 7, 1.6e-7 and 8e-8 off: at 90 degrees every odd term is zero, so a sum that
// stops at the first small term stops early. In their place, and for C at 90 degrees,
// stand values of the full series from a second evaluation with 40 digits (mpmath, one
// 2x2 system for each mode).
TEST_P(Cylinder, MatchesTheComputedTable)
{
  const CylinderCase& c = GetParam();
  const LayeredCylinder cylinder(
      {{c.radius, lossy(c.permittivity, c.conductivity, c.frequency)}}, 1.0, c.frequency,
      c.source_radius);
  for (std::size_t i = 0; i < c.field.size(); ++i) {
    const double phi = 0.5 * pi * static_cast<double>(i);
    EXPECT_NEAR(std::abs(cylinder.field(0.5, phi)), c.field[i], 6e-8 * c.field[i]) << i;
  }
  EXPECT_NEAR(cylinder.radiated_power(), c.radiated, 6e-8 * c.radiated);
}

INSTANTIATE_TEST_SUITE_P(
    Computed, Cylinder,
    testing::Values(CylinderCase{"A",
                                 mics,
                                 57.0,
                                 0.8,
                                 0.10,
                                 0.0,
                                 {29.682869, 29.682869, 29.682869},
                                 3.6975662},
                    CylinderCase{"B",
                                 mics,
                                 57.0,
                                 0.8,
                                 0.10,
                                 0.06,
                                 {51.134449, 26.0108971362, 4.627169},
                                 3.884378},
                    CylinderCase{"C",
                                 ism,
                                 53.0,
                                 1.7,
                                 0.05,
                                 0.03,
                                 {102.93115, 41.0797851056, 15.113206},
                                 14.781992},
                    CylinderCase{"D",
                                 mics,
                                 57.0,
                                 0.0,
                                 0.10,
                                 0.06,
                                 {92.201113, 63.7021159669, 85.260489},
                                 34.576694}),
    [](const auto& instance) { return std::string(instance.param.name); });

TEST(LayeredCylinder, RadiatesAllThatALosslessOneIsFed)
{
  const LayeredCylinder cylinder({{0.06, 57.0}, {0.08, 5.6}, {0.1, 46.0}}, 1.0, mics,
                                 0.04);
  const double source = cylinder.source_power();
  EXPECT_GT(source, 0.0);
  EXPECT_NEAR(cylinder.radiated_power(), source, 1e-10 * source);
  for (const double radius : {0.05, 0.07, 0.09, 0.3}) {
    EXPECT_NEAR(cylinder.power_through(radius), source, 1e-10 * source) << radius;
  }
  EXPECT_NEAR(cylinder.power_through(0.02), 0.0, 1e-10 * source);
}

// E_z and dE_z/drho (that is, H_phi) are continuous; the step of 1e-12 m moves either of
// them by less than 1e-9 of itself.
TEST(LayeredCylinder, FieldsAreContinuousAtEachInterface)
{
  const LayeredCylinder cylinder = three_layers();
  for (const double radius : {0.06, 0.08, 0.085}) {
    for (const double phi : {0.0, 0.4, 2.0, 3.5}) {
      const double outside = radius + 1e-12;
      EXPECT_LT(
          relative_difference(cylinder.field(outside, phi), cylinder.field(radius, phi)),
          1e-9);
      EXPECT_LT(relative_difference(cylinder.radial_derivative(outside, phi),
                                    cylinder.radial_derivative(radius, phi)),
                1e-9);
    }
  }
}

TEST(LayeredCylinder, RadialDerivativeIsTheSlopeOfTheField)
{
  const LayeredCylinder cylinder = three_layers();
  const double step = 1e-5;
  for (const double rho : {0.01, 0.05, 0.07, 0.082, 0.3}) {
    const Complex slope =
        (cylinder.field(rho + step, 1.0) - cylinder.field(rho - step, 1.0)) /
        (2.0 * step);
    EXPECT_LT(relative_difference(cylinder.radial_derivative(rho, 1.0), slope), 1e-5)
        << rho;
  }
}

TEST(LayeredCylinder, EqualMediaAreOneHomogeneousMedium)
{
  const Complex medium = lossy(57.0, 0.8, mics);
  const LayeredCylinder cylinder({{0.03, medium}, {0.05, medium}, {0.07, medium}}, medium,
                                 mics, 0.02, 0.0);
  for (const double rho : {0.01, 0.04, 0.06, 0.1}) {
    const double phi = 1.1;
    const double distance = std::abs(std::polar(rho, phi) - 0.02);
    EXPECT_LT(relative_difference(cylinder.field(rho, phi),
                                  line_source_field(medium, mics, distance)),
              1e-13)
        << rho;
  }
  EXPECT_NEAR(cylinder.source_power(), line_source_power(medium, mics),
              1e-12 * line_source_power(medium, mics));
}

// The power of a line source in a lossy medium against the flux through a circle so small
// that it holds no loss to speak of: the difference falls as (r ln r)^2.
TEST(LayeredCylinder, LossySourcePowerIsTheFluxThroughASmallCircle)
{
  const LayeredCylinder cylinder({{0.1, lossy(57.0, 0.8, mics)}}, 1.0, mics, 0.0);
  const double source = cylinder.source_power();
  EXPECT_NEAR(cylinder.power_through(1e-8), source, 1e-10 * source);
}

// Absorbed power from fluxes against the volume integral of (1/2) omega eps'' |E|^2
// (Simpson in rho, trapezoidal in phi, which is spectrally accurate for a periodic
// integrand).
TEST(LayeredCylinder, AbsorbedPowerIsTheIntegralOfTheLoss)
{
  const LayeredCylinder cylinder = three_layers();
  constexpr int rings = 16;
  constexpr int angles = 40;
  const double step = (0.08 - 0.06) / rings;
  double integral = 0.0;
  for (int ring = 0; ring <= rings; ++ring) {
    const double weight = ring == 0 || ring == rings ? 1.0 : (ring % 2 == 1 ? 4.0 : 2.0);
    const double rho = 0.06 + ring * step;
    double mean = 0.0;
    for (int i = 0; i < angles; ++i) {
      mean += std::norm(cylinder.field(rho, 2.0 * pi * i / angles)) / angles;
    }
    integral += weight * step / 3.0 * 2.0 * pi * rho * mean;
  }
  const double absorbed = cylinder.absorbed_power(1);
  EXPECT_NEAR(0.5 * 0.04 * integral, absorbed, 1e-6 * absorbed);
}

TEST(LayeredCylinder, LossyBalanceCloses)
{
  const LayeredCylinder cylinder = three_layers();
  const double absorbed = cylinder.absorbed_power(0) + cylinder.absorbed_power(1) +
                          cylinder.absorbed_power(2);
  const double source = cylinder.source_power();
  EXPECT_NEAR(absorbed + cylinder.radiated_power(), source, 1e-12 * source);
  for (std::size_t layer = 0; layer < 3; ++layer) {
    EXPECT_GT(cylinder.absorbed_power(layer), 0.0) << layer;
  }
}

TEST(LayeredCylinder, RadiationIntensityIntegratesToTheRadiatedPower)
{
  const LayeredCylinder cylinder = three_layers();
  constexpr int angles = 64;
  double integral = 0.0;
  for (int i = 0; i < angles; ++i) {
    integral += cylinder.radiation_intensity(2.0 * pi * i / angles) * 2.0 * pi / angles;
  }
  EXPECT_NEAR(integral, cylinder.radiated_power(), 1e-12 * integral);

  const auto error_at = [&](double rho) {  // falls as 1/rho
    const double flux =
        rho * std::norm(cylinder.field(rho, 2.0)) / (2.0 * materials::vacuum_impedance);
    return flux / cylinder.radiation_intensity(2.0) - 1.0;
  };
  EXPECT_NEAR(error_at(1e4) / error_at(1e5), 10.0, 0.01);
  EXPECT_NEAR(error_at(1e6), 0.0, 1e-7);
}

TEST(LayeredCylinder, IsReciprocal)
{
  const LayeredCylinder forward = three_layers(0.03, 0.4);
  const LayeredCylinder backward = three_layers(0.05, 2.5);
  EXPECT_LT(relative_difference(forward.field(0.05, 2.5), backward.field(0.03, 0.4)),
            1e-13);
}

// |k a| of about 60 with loss, and a source near the wall: many modes, a wide range of
// sizes.
TEST(LayeredCylinder, StaysExactForLargeCylinders)
{
  const Complex medium = lossy(53.0, 0.4, ism);
  const LayeredCylinder cylinder({{0.15, medium}, {0.16, 5.3}}, 1.0, ism, 0.13);
  ASSERT_GT(std::abs(wavenumber(medium, ism)) * 0.16, 55.0);
  const double source = cylinder.source_power();
  const double absorbed = cylinder.absorbed_power(0);
  EXPECT_NEAR(cylinder.radiated_power() + absorbed, source, 1e-12 * source);
  EXPECT_NEAR(cylinder.absorbed_power(1), 0.0, 1e-12 * source);
  EXPECT_LT(
      relative_difference(cylinder.field(0.15 + 1e-13, 0.3), cylinder.field(0.15, 0.3)),
      1e-8);
}

TEST(LayeredCylinder, RejectsWhatItCannotSolve)
{
  EXPECT_THROW(LayeredCylinder({}, 1.0, mics, 0.0), std::invalid_argument);
  EXPECT_THROW(LayeredCylinder({{0.1, 2.0}, {0.1, 3.0}}, 1.0, mics, 0.0),
               std::invalid_argument);
  EXPECT_THROW(LayeredCylinder({{0.1, 2.0}}, 1.0, mics, 0.1), std::invalid_argument);
  EXPECT_THROW(LayeredCylinder({{0.1, {2.0, 0.1}}}, 1.0, mics, 0.0),
               std::invalid_argument);
  const LayeredCylinder in_tissue({{0.1, 2.0}}, lossy(57.0, 0.8, mics), mics, 0.0);
  EXPECT_THROW((void)in_tissue.radiated_power(), std::domain_error);
}

}  // namespace
}  // namespace torsowave::reference
