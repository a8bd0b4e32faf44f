#include "solver/layered_medium.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::two_pi;
using materials::vacuum_permittivity;

Complex permittivity(double eps_r, double conductivity, double frequency)
{
  return {eps_r, -conductivity / (two_pi * frequency * vacuum_permittivity)};
}

double degrees(Complex value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

struct MuscleCase {
  double frequency;
  double eps_r;
  double conductivity;  ///< [S/m]
  double magnitude;     ///< |r|
  double angle;         ///< of r [deg]
  double entering;      ///< 1 - |r|^2
  double surface_sar;   ///< [(W/kg)/(W/m^2)] at 1000 kg/m^3
};

// Inputs seen in a university exercise on the air-muscle interface ("percentage of
// incident power absorbed"; the data of C. C. Johnson, A. W. Guy, Proc. IEEE 60 (1972)
// 692-718, attribution from memory). The results are computed with the textbook's
// formulas (r = (eta2 - eta1)/(eta2 + eta1), seen in lecture notes) by a separate script.
constexpr auto muscle_cases = std::to_array<MuscleCase>({
    {100e6, 71.7, 0.889, 0.880896, 175.278, 0.224022, 0.00675343},
    {915e6, 51.0, 1.6, 0.779127, 175.902, 0.39296, 0.0318078},
    {2450e6, 47.0, 2.21, 0.754707, 177.26, 0.430417, 0.0515315},
});

TEST(PublishedLayers, AirAndMuscle)
{
  for (const MuscleCase& c : muscle_cases) {
    LayeredMedium medium;
    medium.frequency = c.frequency;
    medium.eps = {1.0, permittivity(c.eps_r, c.conductivity, c.frequency)};
    const PlaneWaveAnswer a = solve_plane_wave(medium, {});
    EXPECT_NEAR(std::abs(a.reflection), c.magnitude, 1e-6);
    EXPECT_NEAR(degrees(a.reflection), c.angle, 1e-3);
    EXPECT_NEAR(a.transmittance, c.entering, 2e-6);
    const double e2 = std::norm(a.field.at(0.0).tangential_e);
    const double sar = c.conductivity * e2 / (2.0 * 1000.0);
    EXPECT_NEAR(sar / a.incident_flux, c.surface_sar, 1e-5 * c.surface_sar);
  }
}

// C. C. Johnson, A. W. Guy, Proc. IEEE 60 (1972) 692-718, tissue of high water content:
// |r| from air, with the table's own eps_r and sigma. From memory; the rows between 200
// and 915 MHz, whose recalled depths contradict their own eps_r and sigma, are left out.
TEST(PublishedLayers, TableOfMuscleFromMemory)
{
  struct Row {
    double frequency;
    double eps_r;
    double conductivity;
    double magnitude;
    double angle;
  };
  constexpr auto rows = std::to_array<Row>({{27.12e6, 113.0, 0.612, 0.925, 177.0},
                                            {40.68e6, 97.3, 0.693, 0.913, 176.0},
                                            {100e6, 71.7, 0.889, 0.881, 175.0},
                                            {2450e6, 47.0, 2.21, 0.754, 177.0},
                                            {3000e6, 46.0, 2.26, 0.751, 178.0},
                                            {5800e6, 43.3, 4.73, 0.746, 177.0}});
  for (const Row& row : rows) {
    LayeredMedium medium;
    medium.frequency = row.frequency;
    medium.eps = {1.0, permittivity(row.eps_r, row.conductivity, row.frequency)};
    const Complex r = solve_plane_wave(medium, {}).reflection;
    EXPECT_NEAR(std::abs(r), row.magnitude, 1.5e-3);  // printed with three digits
    EXPECT_NEAR(degrees(r), row.angle, 0.6);          // printed in whole degrees
  }
}

struct StackCase {
  double frequency;
  std::array<double, 2> skin;  ///< eps_r, sigma [S/m]
  std::array<double, 2> fat;
  std::array<double, 2> muscle;
  double in_magnitude;   ///< wave from air
  double in_angle;       ///< [deg]
  double into_muscle;    ///< over the incident power
  double e_at_muscle;    ///< over the incident |E|
  double out_magnitude;  ///< wave from muscle
  double out_angle;      ///< [deg]
  double out_share;      ///< power out of the skin over net power through the inner face
  double e_outside;      ///< over the incident |E| at the inner face
};

// Skin 2 mm, fat 10 mm, muscle. Inputs: rounded values of a web tutorial (seen). Results
// computed by a separate script with transfer matrices and with the recursion of the
// input impedance, which agree to 1e-6.
constexpr auto stack_cases = std::to_array<StackCase>({
    {402e6,
     {46, 0.69},
     {5.6, 0.04},
     {57, 0.80},
     0.750931,
     167.388,
     0.378296,
     0.219059,
     0.685024,
     -22.0037,
     0.603754,
     1.79701},
    {2450e6,
     {38, 1.5},
     {5.3, 0.10},
     {53, 1.7},
     0.731327,
     -157.527,
     0.175442,
     0.154712,
     0.717328,
     29.115,
     0.439666,
     1.1416},
});

TEST(PublishedLayers, SkinFatMuscleBothWays)
{
  for (const StackCase& c : stack_cases) {
    const auto eps = [&](const std::array<double, 2>& tissue) {
      return permittivity(tissue[0], tissue[1], c.frequency);
    };
    LayeredMedium medium;
    medium.frequency = c.frequency;
    medium.eps = {1.0, eps(c.skin), eps(c.fat), eps(c.muscle)};
    medium.thickness = {2e-3, 10e-3};
    for (const auto polarisation : {WavePolarisation::te, WavePolarisation::tm}) {
      const PlaneWaveAnswer in = solve_plane_wave(medium, {polarisation, 0.0});
      EXPECT_NEAR(std::abs(in.reflection), c.in_magnitude, 1e-6);
      EXPECT_NEAR(degrees(in.reflection), c.in_angle, 1e-3);
      EXPECT_NEAR(in.transmittance, c.into_muscle, 1e-6);
      EXPECT_NEAR(std::abs(in.transmission), c.e_at_muscle, 1e-6);
      const PlaneWaveAnswer out = solve_plane_wave(reversed(medium), {polarisation, 0.0});
      EXPECT_NEAR(std::abs(out.reflection), c.out_magnitude, 1e-6);
      EXPECT_NEAR(degrees(out.reflection), c.out_angle, 1e-3);
      EXPECT_NEAR(out.transmittance / out.entering, c.out_share, 1e-6);
      EXPECT_NEAR(std::abs(out.transmission), c.e_outside, 1e-5);
    }
  }
}

}  // namespace
}  // namespace torsowave::solver
