#include "solver/layered_medium.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

#include "materials/constants.hpp"
#include "solver/textbook_layers.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using testing::lossy_layers;
using testing::textbook_plane_wave;

constexpr double frequency = 2.45e9;
constexpr double infinity = std::numeric_limits<double>::infinity();
const double vacuum_wavelength = materials::speed_of_light / frequency;
constexpr auto both = std::to_array({WavePolarisation::te, WavePolarisation::tm});

LayeredMedium stack(std::vector<Complex> eps, std::vector<double> thickness)
{
  LayeredMedium medium;
  medium.frequency = frequency;
  medium.eps = std::move(eps);
  medium.thickness = std::move(thickness);
  return medium;
}

PlaneWaveAnswer solve(const LayeredMedium& medium, double degrees,
                      WavePolarisation polarisation)
{
  const double angle = degrees * std::numbers::pi / 180.0;
  return solve_plane_wave(
      medium,
      {polarisation, transverse_wavenumber(medium.eps.front(), medium.frequency, angle)});
}

double sum(const std::vector<double>& values)
{
  return std::accumulate(values.begin(), values.end(), 0.0);
}

// A. J. Fresnel's formulas: r_TE = (n1 c1 - n2 c2)/(n1 c1 + n2 c2), and of tangential E
// r_TM = (n1/c1 - n2/c2)/(n1/c1 + n2/c2), Snell's law giving c2 (textbook: M. Born,
// E. Wolf, Principles of Optics, sec. 1.5, section from memory).
TEST(LayeredMedium, OneFaceIsFresnel)
{
  const double n1 = 1.5;
  const double n2 = 2.2;
  for (const double degrees : {0.0, 20.0, 45.0, 80.0}) {
    const double c1 = std::cos(degrees * std::numbers::pi / 180.0);
    const double c2 = std::sqrt(1.0 - std::pow(n1 / n2, 2) * (1.0 - c1 * c1));
    const LayeredMedium face = stack({n1 * n1, n2 * n2}, {});
    const double te = (n1 * c1 - n2 * c2) / (n1 * c1 + n2 * c2);
    const double tm = (n1 / c1 - n2 / c2) / (n1 / c1 + n2 / c2);
    EXPECT_NEAR(std::abs(solve(face, degrees, WavePolarisation::te).reflection - te), 0.0,
                1e-14);
    EXPECT_NEAR(std::abs(solve(face, degrees, WavePolarisation::tm).reflection - tm), 0.0,
                1e-14);
  }
}

TEST(LayeredMedium, BrewstersAngleDoesNotReflectTm)
{
  const double degrees = std::atan(3.0) * 180.0 / std::numbers::pi;  // tan = n2/n1
  const LayeredMedium face = stack({1.0, 9.0}, {});
  EXPECT_LT(std::abs(solve(face, degrees, WavePolarisation::tm).reflection), 1e-15);
  EXPECT_GT(std::abs(solve(face, degrees, WavePolarisation::te).reflection), 0.5);
}

TEST(LayeredMedium, BeyondTheCriticalAngleAllIsReflected)
{
  const LayeredMedium face = stack({4.0, 1.0}, {});  // critical at 30 degrees
  for (const WavePolarisation polarisation : both) {
    for (const double degrees : {30.001, 45.0, 85.0}) {
      const PlaneWaveAnswer answer = solve(face, degrees, polarisation);
      EXPECT_NEAR(answer.reflectance, 1.0, 1e-14);
      EXPECT_NEAR(answer.transmittance, 0.0, 1e-14);
    }
    EXPECT_LT(solve(face, 29.9, polarisation).reflectance, 0.99);
  }
}

// Exactly at the critical angle the field in a gap is linear in x: k = 0 there, so
// U' = -j a V and V' = 0. Between equal media of wave admittance Y, 1 - r = t and
// 1 + r = t (1 + q) with q = j a d Y; hence r = q/(2 + q), derived here. TE: q = j d k_1.
TEST(LayeredMedium, AGapAtTheCriticalAngle)
{
  const double gap = 7e-3;
  const LayeredMedium medium = stack({4.0, 1.0, 4.0}, {gap});
  const double k0 = 2.0 * std::numbers::pi / vacuum_wavelength;
  const PlaneWaveAnswer answer = solve_plane_wave(medium, {WavePolarisation::te, k0});
  const Complex q{0.0, gap * k0 * std::sqrt(3.0)};
  EXPECT_LT(std::abs(answer.reflection - q / (2.0 + q)), 1e-13);
  EXPECT_NEAR(answer.reflectance + answer.transmittance, 1.0, 1e-14);
}

TEST(LayeredMedium, QuarterWaveLayerMatchesAndHalfWaveLayerIsAWindow)
{
  const LayeredMedium quarter = stack({1.0, 4.0, 16.0}, {vacuum_wavelength / 8.0});
  const LayeredMedium half = stack({1.0, 9.0, 1.0}, {vacuum_wavelength / 6.0});
  for (const WavePolarisation polarisation : both) {
    EXPECT_LT(std::abs(solve(quarter, 0.0, polarisation).reflection), 1e-15);
    EXPECT_LT(std::abs(solve(half, 0.0, polarisation).reflection), 1e-15);
    EXPECT_NEAR(solve(quarter, 0.0, polarisation).transmittance, 1.0, 1e-15);
    // |t| is |E| in the last medium: the flux is sqrt(16) |t|^2.
    EXPECT_NEAR(std::abs(solve(quarter, 0.0, polarisation).transmission), 0.5, 1e-15);
  }
}

TEST(LayeredMedium, AgreesWithTheTextbookMatrices)
{
  for (const WavePolarisation polarisation : both) {
    for (const double degrees : {0.0, 17.0, 52.0, 88.0}) {
      const LayeredMedium medium = lossy_layers(frequency);
      const double kt =
          transverse_wavenumber(1.0, frequency, degrees / 57.29577951308232);
      const TransverseWave wave{polarisation, kt};
      const PlaneWaveAnswer answer = solve_plane_wave(medium, wave);
      const auto exact = textbook_plane_wave(medium, wave);
      EXPECT_LT(std::abs(answer.reflection - exact.reflection), 1e-13);
      EXPECT_LT(std::abs(answer.transmission - exact.transmission), 1e-13);
    }
  }
}

TEST(LayeredMedium, PowerIsConserved)
{
  for (const WavePolarisation polarisation : both) {
    for (const double degrees : {0.0, 30.0, 60.0, 89.0}) {
      const PlaneWaveAnswer a = solve(lossy_layers(frequency), degrees, polarisation);
      EXPECT_NEAR(a.reflectance + sum(a.absorbed) + a.transmittance, 1.0, 1e-13);
      EXPECT_NEAR(a.entering, 1.0 - a.reflectance, 1e-14);
      for (std::size_t i = 0; i < a.absorbed.size(); ++i) {
        const LayeredMedium& medium = a.field.medium();
        const double lost =
            a.field.at(medium.face(i)).flux - a.field.at(medium.face(i + 1)).flux;
        EXPECT_NEAR(a.absorbed[i], lost / a.incident_flux, 1e-14);
      }
      const double rest = a.field.heat(a.field.medium().face(3), infinity);
      EXPECT_NEAR(rest / a.incident_flux, a.transmittance, 1e-14);
    }
  }
}

/// The incident wave is 1 V/m strong: its flux is 1/2 sqrt(eps) cos(angle)/eta0.
TEST(LayeredMedium, IncidentFlux)
{
  for (const WavePolarisation polarisation : both) {
    const PlaneWaveAnswer a = solve(stack({2.25, 5.0}, {}), 60.0, polarisation);
    EXPECT_NEAR(a.incident_flux, 0.5 * 1.5 * 0.5 / materials::vacuum_impedance, 1e-18);
  }
}

TEST(LayeredMedium, FieldsAreContinuousAndObeyMaxwell)
{
  for (const WavePolarisation polarisation : both) {
    const PlaneWaveAnswer a = solve(lossy_layers(frequency), 40.0, polarisation);
    for (std::size_t f = 0; f <= 3; ++f) {
      const double x = a.field.medium().face(f);
      const LayerFields left = a.field.at(x - 1e-12);
      const LayerFields right = a.field.at(x);
      EXPECT_NEAR(std::abs(left.tangential_e - right.tangential_e), 0.0, 1e-9);
      EXPECT_NEAR(std::abs(left.tangential_h - right.tangential_h), 0.0, 1e-11);
    }
    // TE: j w mu0 Hy = dEz/dx; TM: -j w mu0 Hz = dEy/dx + j k_t Ex.
    const double h = 1e-6;
    const double x = 5e-3;
    const Complex slope =
        (a.field.at(x + h).tangential_e - a.field.at(x - h).tangential_e) / (2.0 * h);
    const Complex induction = Complex{0.0, 2.0 * std::numbers::pi * frequency} *
                              materials::vacuum_permeability * a.field.at(x).tangential_h;
    const Complex other =
        Complex{0.0, a.field.wave().wavenumber} * a.field.at(x).normal_e;
    const Complex expected =
        polarisation == WavePolarisation::te ? induction : -induction - other;
    EXPECT_NEAR(std::abs(slope - expected) / std::abs(expected), 0.0, 1e-6);
  }
}

TEST(LayeredMedium, ASplitLayerIsTheSameLayer)
{
  const LayeredMedium whole = lossy_layers(frequency);
  LayeredMedium split = whole;
  split.eps.insert(split.eps.begin() + 2, split.eps[2]);
  const double d = split.thickness[1];
  split.thickness[1] = 0.3 * d;
  split.thickness.insert(split.thickness.begin() + 2, 0.7 * d);
  for (const WavePolarisation polarisation : both) {
    const PlaneWaveAnswer a = solve(whole, 35.0, polarisation);
    const PlaneWaveAnswer b = solve(split, 35.0, polarisation);
    EXPECT_LT(std::abs(a.reflection - b.reflection), 1e-14);
    EXPECT_LT(std::abs(a.transmission - b.transmission), 1e-14);
    EXPECT_NEAR(a.absorbed[1], b.absorbed[1] + b.absorbed[2], 1e-14);
  }
}

// H. A. Lorentz's theorem of reciprocity: the tangential E transmitted, times the
// admittance behind, is the same both ways: Y_last t = Y_first t'.
TEST(LayeredMedium, TransmissionIsReciprocal)
{
  const LayeredMedium medium = lossy_layers(frequency);
  for (const WavePolarisation polarisation : both) {
    const TransverseWave wave{polarisation, 30.0};
    const Complex there = solve_plane_wave(medium, wave).transmission;
    const Complex back = solve_plane_wave(reversed(medium), wave).transmission;
    const Complex first = line_medium(medium.eps.front(), frequency, wave).admittance();
    const Complex last = line_medium(medium.eps.back(), frequency, wave).admittance();
    EXPECT_LT(std::abs(there * last - back * first) / std::abs(back * first), 1e-13);
  }
}

TEST(LayeredMedium, ThickLossyStacksNeitherOverflowNorLoseDigits)
{
  const Complex muscle{52.7, -12.7};
  const double skin_depth = -1.0 / line_medium(muscle, frequency, {}).k.imag();
  for (const double depths : {1.0, 30.0, 100.0, 1000.0, 1e5}) {
    const LayeredMedium thick = stack({1.0, muscle, 5.0, muscle, 1.0},
                                      {depths * skin_depth, 0.01, depths * skin_depth});
    for (const WavePolarisation polarisation : both) {
      const PlaneWaveAnswer a = solve(thick, 25.0, polarisation);
      const PlaneWaveAnswer half_space =
          solve(stack({1.0, muscle}, {}), 25.0, polarisation);
      EXPECT_NEAR(a.reflectance + sum(a.absorbed) + a.transmittance, 1.0, 1e-13);
      if (depths >= 30.0) {
        EXPECT_LT(std::abs(a.reflection - half_space.reflection), 1e-14);
      }
      EXPECT_TRUE(std::isfinite(a.field.at(0.9 * depths * skin_depth).flux));
      EXPECT_TRUE(std::isfinite(a.field.at(a.field.medium().face(3)).flux));
      // One skin depth into it the power has fallen by exp(-2).
      const double fall = a.field.at(skin_depth).flux / a.field.at(0.0).flux;
      if (depths >= 30.0) {
        EXPECT_NEAR(
            fall / half_space.field.at(skin_depth).flux * half_space.field.at(0.0).flux,
            1.0, 1e-12);
      }
      if (depths == 100.0) {
        // Two passes of 100 skin depths: |t| of the order exp(-200), kept.
        EXPECT_GT(std::abs(a.transmission), 1e-92);
        EXPECT_LT(std::abs(a.transmission), 1e-80);
      }
    }
  }
}

TEST(LayeredMedium, AConductorReflectsAll)
{
  LayeredMedium wall = stack({1.0, 1.0}, {});
  wall.conductor_last = true;
  EXPECT_LT(std::abs(solve(wall, 30.0, WavePolarisation::te).reflection + 1.0), 1e-15);
  LayeredMedium coated = stack({1.0, {4.0, -1.0}, 1.0}, {0.01});
  coated.conductor_last = true;
  const PlaneWaveAnswer a = solve(coated, 30.0, WavePolarisation::tm);
  EXPECT_EQ(a.transmittance, 0.0);
  EXPECT_NEAR(a.reflectance + sum(a.absorbed), 1.0, 1e-14);
  EXPECT_LT(std::abs(a.field.at(0.01 - 1e-12).tangential_e), 1e-8);
}

/// In a lossy first medium the flux is not the difference of two fluxes.
TEST(LayeredMedium, LossyFirstMediumHasACrossTerm)
{
  const LayeredMedium medium = reversed(lossy_layers(frequency));
  const PlaneWaveAnswer a = solve(medium, 0.0, WavePolarisation::te);
  EXPECT_NEAR(a.entering, sum(a.absorbed) + a.transmittance, 1e-14);
  const Complex y = line_medium(medium.eps.front(), frequency, {}).admittance();
  // 1/2 Re(U V*), U = 1 + r, V = Y (1 - r): the cross term is 2 Im(Y) Im(r)/Re(Y).
  const double cross = 2.0 * y.imag() / y.real() * a.reflection.imag();
  EXPECT_NEAR(a.entering, 1.0 - a.reflectance + cross, 1e-14);
  EXPECT_GT(std::abs(cross), 0.01);
}

// In a uniform medium half the power goes each way, and the sheet sees E = -J/(2 Y).
TEST(LayeredMedium, CurrentSheetInOneMedium)
{
  const LayeredMedium vacuum = stack({1.0, 1.0}, {});
  const CurrentSheetAnswer a = solve_current_sheet(vacuum, {}, 0.0);
  EXPECT_NEAR(a.delivered, materials::vacuum_impedance / 4.0, 1e-12);
  EXPECT_NEAR(a.into_first, a.delivered / 2.0, 1e-12);
  EXPECT_NEAR(a.into_last, a.delivered / 2.0, 1e-12);
  EXPECT_NEAR(a.field.at(0.1).flux, materials::vacuum_impedance / 8.0, 1e-12);
  EXPECT_NEAR(a.field.at(-0.1).flux, -materials::vacuum_impedance / 8.0, 1e-12);
}

TEST(LayeredMedium, CurrentSheetBalances)
{
  const LayeredMedium medium = lossy_layers(frequency);
  for (const WavePolarisation polarisation : both) {
    for (const double x : {-0.02, 0.0, 1e-3, 2e-3, 7e-3, 15e-3, 30e-3}) {
      const CurrentSheetAnswer a = solve_current_sheet(medium, {polarisation, 20.0}, x);
      EXPECT_NEAR((a.into_first + sum(a.absorbed) + a.into_last) / a.delivered, 1.0,
                  1e-13)
          << x;
      EXPECT_NEAR((a.delivered_left + a.delivered_right) / a.delivered, 1.0, 1e-13);
      const Complex left = a.field.at(x - 1e-13).tangential_h;
      const Complex right = a.field.at(x).tangential_h;
      const double jump = polarisation == WavePolarisation::te ? 1.0 : -1.0;
      EXPECT_NEAR(std::abs(right - left - jump), 0.0, 1e-8);
    }
  }
}

// Reciprocity: E at b of a sheet at a is E at a of a sheet at b.
TEST(LayeredMedium, CurrentSheetIsReciprocal)
{
  const LayeredMedium medium = lossy_layers(frequency);
  for (const WavePolarisation polarisation : both) {
    const TransverseWave wave{polarisation, 15.0};
    const Complex there =
        solve_current_sheet(medium, wave, 1e-3).field.at(0.02).tangential_e;
    const Complex back =
        solve_current_sheet(medium, wave, 0.02).field.at(1e-3).tangential_e;
    EXPECT_LT(std::abs(there - back) / std::abs(there), 1e-13);
  }
}

/// A sheet far outside sends a plane wave of -eta0/2 V/m.
TEST(LayeredMedium, AFarCurrentSheetIsAPlaneWave)
{
  const LayeredMedium medium = lossy_layers(frequency);
  const double far = -0.7;
  const CurrentSheetAnswer sheet = solve_current_sheet(medium, {}, far);
  const PlaneWaveAnswer wave = solve(medium, 0.0, WavePolarisation::te);
  const double k0 = 2.0 * std::numbers::pi / vacuum_wavelength;
  const Complex incident =
      -0.5 * materials::vacuum_impedance * std::exp(Complex{0.0, k0 * far});
  for (const double x : {0.0, 5e-3, 0.03}) {
    const Complex scaled = incident * wave.field.at(x).tangential_e;
    EXPECT_LT(std::abs(sheet.field.at(x).tangential_e - scaled) / std::abs(scaled),
              1e-12);
  }
}

TEST(LayeredMedium, DepthOfALoss)
{
  const PlaneWaveAnswer a = solve(lossy_layers(frequency), 0.0, WavePolarisation::te);
  for (const double decibel : {8.0, 20.0, 60.0, 400.0}) {
    const auto depth = depth_of_loss(a.field, a.incident_flux, decibel);
    ASSERT_TRUE(depth);
    const double level = 10.0 * std::log10(a.incident_flux / a.field.at(*depth).flux);
    EXPECT_NEAR(level, decibel, 1e-11);
  }
  EXPECT_EQ(depth_of_loss(a.field, a.incident_flux, 0.1), 0.0) << "lost by reflection";
  const PlaneWaveAnswer glass = solve(stack({1.0, 4.0}, {}), 0.0, WavePolarisation::te);
  EXPECT_FALSE(depth_of_loss(glass.field, glass.incident_flux, 3.0));
}

TEST(LayeredMedium, RefusesWhatIsNotAStack)
{
  const auto refuses = [](const LayeredMedium& medium, double kt) {
    EXPECT_THROW(static_cast<void>(solve_plane_wave(medium, {WavePolarisation::te, kt})),
                 std::invalid_argument);
  };
  refuses(stack({1.0}, {}), 0.0);
  refuses(stack({1.0, 2.0, 3.0}, {}), 0.0);
  refuses(stack({1.0, 2.0, 3.0}, {0.0}), 0.0);
  refuses(stack({1.0, {2.0, 1.0}}, {}), 0.0);
  refuses(stack({1.0, 2.0}, {}), 1e6);
  LayeredMedium wall = stack({1.0, 2.0}, {});
  wall.conductor_first = true;
  refuses(wall, 0.0);
  EXPECT_THROW(static_cast<void>(solve_current_sheet(wall, {}, -0.1)),
               std::invalid_argument);
  EXPECT_THROW(static_cast<void>(transverse_wavenumber(1.0, 1e9, 1.6)),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::solver
