// A line source in one medium that fills the domain and the absorber, against
// E = -(omega mu0 I/4) H_0^(2)(k rho), and against the grid's own exact solution.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <ostream>
#include <string>

#include "materials/constants.hpp"
#include "materials/wave_quantities.hpp"
#include "published/full_wave_lattice.hpp"
#include "published/full_wave_run.hpp"
#include "solver/bessel.hpp"
#include "solver/layered_cylinder.hpp"
#include "solver/medium.hpp"

namespace torsowave::reference {
namespace {

using Complex = std::complex<double>;

constexpr double degree = std::numbers::pi / 180.0;

/// What the field at 5 to 50 mm and four angles differs by.
struct LineSourceErrors {
  double amplitude_db = 0.0;
  double phase_deg = 0.0;
  double rms = 0.0;  ///< of |found/exact - 1|
};

/// found/exact at a cell.
Complex ratio_at(const FullWaveRun& run, const std::string& tissue, double rho,
                 double phi)
{
  const FullWaveRun::Cell cell = run.cell_at(rho, phi);
  const solver::cylinder::Solution exact(
      {{}, fitted_permittivity(run.plan, tissue, 0)}, solver::Polarisation::tmz,
      run.plan.scenario.frequencies.at(0), solver::cylinder::LineSource{});
  return run.ez(0, cell.i, cell.j) / exact.at(cell.centre).z;
}

LineSourceErrors errors_of(const FullWaveRun& run, const std::string& tissue)
{
  LineSourceErrors errors;
  double sum = 0.0;
  int count = 0;
  for (const double rho : {0.005, 0.010, 0.020, 0.035, 0.050}) {
    for (const double phi : {0.0, 20.0, 45.0, 70.0}) {
      const Complex ratio = ratio_at(run, tissue, rho, phi * degree);
      errors.amplitude_db =
          std::max(errors.amplitude_db, std::abs(20.0 * std::log10(std::abs(ratio))));
      errors.phase_deg = std::max(errors.phase_deg, std::abs(std::arg(ratio)) / degree);
      sum += std::norm(ratio - 1.0);
      ++count;
    }
  }
  errors.rms = std::sqrt(sum / count);
  return errors;
}

struct Expected {
  HomogeneousCase medium;
  double amplitude_db;  ///< at 20 cells per wavelength; a quarter of it at 40
  double phase_deg;
};

std::ostream& operator<<(std::ostream& stream, const Expected& expected)
{
  return stream << expected.medium.tissue;
}

class FullWaveMedium : public testing::TestWithParam<Expected> {};

// Measured at 20 and 40 cells per wavelength:
//   muscle, 2.45 GHz        0.100, 0.025 dB   0.99, 0.245 deg
//   permittivity 4, 5.8 GHz 0.055, 0.014 dB   2.53, 0.618 deg
// Media without losses are stepped as they are, and lag by 1.3 deg per wavelength along
// the axes at 20 cells; in muscle the mean over directions is taken out.
TEST_P(FullWaveMedium, HasTheFieldOfTheHankelFunction)
{
  const Expected& expected = GetParam();
  HomogeneousCase homogeneous = expected.medium;
  const auto run_with = [&](int cells) {
    homogeneous.cells_per_wavelength = cells;
    return errors_of(run_full_wave(homogeneous_scenario(homogeneous)),
                     homogeneous.tissue);
  };
  const LineSourceErrors coarse = run_with(20);
  const LineSourceErrors fine = run_with(40);
  EXPECT_LE(coarse.amplitude_db, expected.amplitude_db);
  EXPECT_LE(coarse.phase_deg, expected.phase_deg);
  EXPECT_LE(fine.amplitude_db, expected.amplitude_db / 4.0);
  EXPECT_LE(fine.phase_deg, expected.phase_deg / 4.0);
  EXPECT_GE(std::log2(coarse.rms / fine.rms), 1.9) << coarse.rms << ", " << fine.rms;
  RecordProperty("rms_20", testing::PrintToString(coarse.rms));
  RecordProperty("rms_40", testing::PrintToString(fine.rms));
}

INSTANTIATE_TEST_SUITE_P(
    LossyAndLossless, FullWaveMedium,
    testing::Values(Expected{{"muscle", "2.45 GHz", "1.5 GHz"}, 0.11, 1.1},
                    Expected{{"clear_gel", "5.8 GHz", "3 GHz"}, 0.06, 2.7}));

// The whole chain of stepper, absorber, sums and calibration against the lattice's
// Green's function: no grid error is left to hide behind. Measured: 5e-9 at 10 cells per
// wavelength, 4e-8 at 20.
TEST(FullWaveLineSource, DeliversThePowerOfTheLattice)
{
  for (const int cells : {10, 20}) {
    const FullWaveRun run =
        run_full_wave(homogeneous_scenario({"muscle", "2.45 GHz", "1.5 GHz", cells}));
    const double found = run.result.frequencies.at(0).source_power;
    EXPECT_NEAR(found / lattice_source_power(run.plan, "muscle", 0), 1.0, 2e-7);
    EXPECT_FALSE(run.result.frequencies.at(0).body_surface_power.has_value());
  }
}

/// Root mean square of what the field at 5 to 50 mm has beyond the exact one and the two
/// errors of second order that the grid is left with.
///
/// With K^2 of grid_dispersion.hpp, its mean taken out and the source calibrated, the
/// grid's Green's function is 1/(q^2 - k^2) + (dx^2/48) q^4 cos(4 phi)/(q^2 - k^2)^2 +
/// O(dx^4) in the plane of wave vectors q, but for terms that live in the source's cell.
/// The transform of the second term is cos(4 phi) d/d(k^2)[k^4 H_4(k rho)] times that of
/// the first over H_0(k rho), and (z^4 H_4)' = z^4 H_3 (DLMF 10.6.6), so
///   dE/E = (k dx)^2/96 cos(4 phi) k rho H_3^(2)(k rho)/H_0^(2)(k rho).
/// Far out H_3/H_0 = -j: the wave at angle phi has k + k^3 dx^2 cos(4 phi)/96. The other
/// one: leapfrog drives the field by Omega mu0 I in place of omega mu0 I, which is
/// dE/E = Omega/omega - 1 = -(omega dt)^2/24, 4e-5 in muscle at 20 cells. (Derived here.)
double beyond_known_errors(const FullWaveRun& run, const std::string& tissue)
{
  const materials::WaveQuantities wave = materials::wave_quantities(
      fitted_permittivity(run.plan, tissue, 0), run.plan.scenario.frequencies.at(0));
  const Complex k(wave.phase_constant, -wave.attenuation);
  const Complex z = k * run.plan.grid.raster.cell;
  const double frequency = run.plan.scenario.frequencies.at(0);
  const double drive =
      std::log(solver::discrete_omega(frequency, run.plan.grid.time_step) /
               (materials::two_pi * frequency));
  double sum = 0.0;
  int count = 0;
  for (const double rho : {0.005, 0.010, 0.020, 0.035, 0.050}) {
    for (const double phi : {0.0, 20.0, 45.0, 70.0}) {
      const FullWaveRun::Cell cell = run.cell_at(rho, phi * degree);
      const Complex at = k * cell.rho;
      const Complex expected = drive + z * z / 96.0 * std::cos(4.0 * cell.phi) * at *
                                           solver::hankel2(3, at) /
                                           solver::hankel2(0, at);
      sum += std::norm(std::log(ratio_at(run, tissue, rho, phi * degree)) - expected);
      ++count;
    }
  }
  return std::sqrt(sum / count);
}

// Of 0.90 and 0.22 % (root mean square) at 20 and 40 cells 0.0135 and 0.00078 % are left:
// what remains is fourth order (4.1 measured).
TEST(FullWaveLineSource, ErrsAsTheDispersionRelationSays)
{
  const auto left = [](int cells) {
    return beyond_known_errors(
        run_full_wave(homogeneous_scenario({"muscle", "2.45 GHz", "1.5 GHz", cells})),
        "muscle");
  };
  const double coarse = left(20);
  const double fine = left(40);
  EXPECT_GE(std::log2(coarse / fine), 3.5) << coarse << ", " << fine;
  EXPECT_LE(coarse, 2e-4) << coarse << ", " << fine;
  RecordProperty("rms_20", testing::PrintToString(coarse));
  RecordProperty("rms_40", testing::PrintToString(fine));
}

}  // namespace
}  // namespace torsowave::reference
