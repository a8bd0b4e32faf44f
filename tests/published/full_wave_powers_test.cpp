// A small body, muscle of 40 mm in 15 mm of fat, in air: fields and every power against
// the series, the power balance, and a continuous wave against a pulse.

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <string>
#include <tuple>
#include <vector>

#include "materials/constants.hpp"
#include "published/full_wave_lattice.hpp"
#include "published/full_wave_run.hpp"

namespace torsowave::reference {
namespace {

const std::string muscle = "muscle";
const std::string fat = "fat_not_infiltrated";

RoundBody small_body(double source_radius_mm, int cells, const std::string& precision)
{
  return {{{muscle, 40.0}, {fat, 55.0}},
          source_radius_mm,
          25.0,
          "cells_per_wavelength: " + std::to_string(cells) +
              ", margin: 40 mm, precision: " + precision,
          "{type: pulse, center: 915 MHz, bandwidth: 1 GHz}",
          "[915 MHz]",
          "{decay: 110 dB}"};
}

double relative(double found, double exact)
{
  return std::abs(found / exact - 1.0);
}

/// Relative errors of a run's powers.
struct PowerErrors {
  FieldErrors field;
  double sector = 0.0;  ///< largest over the largest sector
  double radiated = 0.0;
  double in_fat = 0.0;
  double in_muscle = 0.0;
  double source = 0.0;
  double source_but_own_cell = 0.0;  ///< less own_cell_excess()
  double muscle_but_own_cell = 0.0;
  double surface_against_radiated = 0.0;
};

PowerErrors power_errors(const RoundBody& body)
{
  const FullWaveRun run = run_full_wave(body.scenario());
  const solver::cylinder::Solution exact = exact_solution(body, run.plan, 0);
  const solver::cylinder::Powers powers = exact.powers();
  const postproc::FrequencyResult& found = run.result.frequencies.at(0);
  const double in_muscle = found.absorbed_by_tissue.at(muscle);
  const double excess = own_cell_excess(run.plan, muscle, 0);
  PowerErrors errors;
  errors.field = errors_within(fields_on_circle(run, exact, 0, 0.075, 12), 1e3);
  errors.sector = sector_errors(run, exact, 0, 0.055).worst_of_largest;
  errors.radiated = relative(found.radiated_power, powers.radiated.value());
  errors.in_fat =
      relative(found.absorbed_by_tissue.at(fat), powers.absorbed.at(1).value());
  errors.in_muscle = relative(in_muscle, powers.absorbed.at(0).value());
  errors.source = relative(found.source_power, powers.delivered.value());
  errors.source_but_own_cell =
      relative(found.source_power - excess, powers.delivered.value());
  errors.muscle_but_own_cell =
      relative(in_muscle - excess, powers.absorbed.at(0).value());
  errors.surface_against_radiated =
      relative(found.body_surface_power.value(), found.radiated_power);
  return errors;
}

void record(const std::string& name, double value)
{
  testing::Test::RecordProperty(name, testing::PrintToString(value));
}

// Measured at 20 and 40 cells per wavelength, source on the axis | 20 mm off it:
//   |E| outside   0.031, 0.008 dB    | 0.049, 0.015 dB
//   radiated      -0.71, -0.19 %     | -0.68, -0.17 %
//   in the fat    -0.82, -0.22 %     | -0.67, -0.16 %
//   in the muscle -0.11, +0.036 %    | -0.47, -0.064 %
//   source        -0.18, +0.010 %    | -0.48, -0.071 %
//   72 sectors    1.61, 0.416 %      | 1.50, 0.420 %  of the largest, at the worst
//   source but for its own cell +0.330, +0.081 % | -0.038, -0.0096 %
//
// Finding: source power, and with it what muscle absorbs, first look better than second
// order and then change sign. That is the cell that the source fills: in a lossy medium
// its own field errs by a (k dx)^2 + b (k dx)^2 ln(k dx), exactly the lattice's own
// Green's function (see full_wave_lattice.hpp). Less that part, they are second order as
// well.
class FullWavePowers : public testing::TestWithParam<double> {};

TEST_P(FullWavePowers, ConvergeToTheSeries)
{
  const PowerErrors coarse = power_errors(small_body(GetParam(), 20, "double"));
  const PowerErrors fine = power_errors(small_body(GetParam(), 40, "double"));
  for (const auto& [name, at_20, at_40] :
       {std::tuple{"field", coarse.field.rms, fine.field.rms},
        {"radiated", coarse.radiated, fine.radiated},
        {"in_fat", coarse.in_fat, fine.in_fat},
        {"source_but_own_cell", coarse.source_but_own_cell, fine.source_but_own_cell},
        {"muscle_but_own_cell", coarse.muscle_but_own_cell, fine.muscle_but_own_cell}}) {
    EXPECT_GE(at_20 / at_40, 3.4) << name << ": " << at_20 << ", " << at_40;
    EXPECT_LE(at_20, 0.01) << name;
    EXPECT_LE(at_40, 0.0025) << name;
    record(std::string(name) + "_20", at_20);
    record(std::string(name) + "_40", at_40);
  }
  EXPECT_GE(coarse.sector / fine.sector, 3.4);
  EXPECT_LE(coarse.sector, 0.02);
  EXPECT_LE(fine.sector, 0.005);
  record("sector_20", coarse.sector);
  record("sector_40", fine.sector);
  EXPECT_LE(coarse.field.worst_db, 0.06);
  EXPECT_LE(fine.field.worst_db, 0.02);
  for (const double whole : {coarse.source, coarse.in_muscle}) {
    EXPECT_LE(whole, 0.01);
  }
  for (const double whole : {fine.source, fine.in_muscle}) {
    EXPECT_LE(whole, 0.0015);
  }
  // One contour one cell off the skin, one in front of the absorber; nothing between.
  EXPECT_LE(coarse.surface_against_radiated, 1e-6);
  EXPECT_LE(fine.surface_against_radiated, 1e-6);
}

INSTANTIATE_TEST_SUITE_P(OnAndOffTheAxis, FullWavePowers, testing::Values(0.0, 20.0));

// One pulse over three bands. What is left is not the grid's: the discrete theorem holds
// to rounding, and the sums are cut off 110 dB down. Measured: 3e-9, 1e-10, 1e-10
// (double) and 3e-6, 9e-7, 5e-7 (single) at 403.5, 915 and 2450 MHz; the contours agree
// to 9e-9 in double.
TEST(FullWavePowerBalance, HoldsFarBelowTheGridsError)
{
  for (const bool is_double : {false, true}) {
    RoundBody body = small_body(20.0, 10, is_double ? "double" : "single");
    body.waveform = "{type: pulse, center: 1.4 GHz, bandwidth: 2.4 GHz}";
    body.frequencies = "[403.5 MHz, 915 MHz, 2.45 GHz]";
    const FullWaveRun run = run_full_wave(body.scenario());
    ASSERT_EQ(run.result.frequencies.size(), 3U);
    for (const postproc::FrequencyResult& at : run.result.frequencies) {
      EXPECT_LE(at.power_balance_residual, is_double ? 2e-8 : 1e-5) << at.frequency;
      EXPECT_LE(relative(at.body_surface_power.value(), at.radiated_power),
                is_double ? 5e-8 : 1e-6)
          << at.frequency;
      record((is_double ? "double_" : "single_") +
                 std::to_string(std::lround(at.frequency * 1e-5)),
             at.power_balance_residual);
    }
  }
}

/// Largest relative difference of the complex Ez, absorber left out.
double field_difference(const FullWaveRun& one, const FullWaveRun& other)
{
  const geometry::Raster& raster = one.plan.grid.raster;
  const int rim = one.plan.grid.absorbing_cells;
  double worst = 0.0;
  for (int j = rim; j < raster.ny - rim; ++j) {
    for (int i = rim; i < raster.nx - rim; ++i) {
      worst = std::max(worst, std::abs(one.ez(0, i, j) / other.ez(0, i, j) - 1.0));
    }
  }
  return worst;
}

double power_difference(const FullWaveRun& one, const FullWaveRun& other)
{
  const postproc::FrequencyResult& a = one.result.frequencies.at(0);
  const postproc::FrequencyResult& b = other.result.frequencies.at(0);
  return std::max(
      {relative(a.source_power, b.source_power),
       relative(a.radiated_power, b.radiated_power),
       relative(a.body_surface_power.value(), b.body_surface_power.value()),
       relative(a.absorbed_by_tissue.at(muscle), b.absorbed_by_tissue.at(muscle)),
       relative(a.absorbed_by_tissue.at(fat), b.absorbed_by_tissue.at(fat))});
}

// A cw run makes its period a whole number of observations, here by a time step 4.1 %
// shorter than the pulse's: its grid is another one, and fields differ by 1.8e-5, powers
// by 6e-6. On the same time step they agree to 5.4e-6 and 3.3e-8: how far the cw run had
// settled (2e-6 a period) and the single precision of stored phasors.
TEST(FullWaveContinuousWave, AgreesWithThePulse)
{
  RoundBody body = small_body(20.0, 20, "double");
  const FullWaveRun pulse = run_full_wave(body.scenario());
  body.waveform = "{type: cw, frequency: 915 MHz, ramp: 5 ns}";
  body.duration = "{decay: 100 dB}";
  const FullWaveRun cw = run_full_wave(body.scenario());
  EXPECT_LE(field_difference(cw, pulse), 1e-4);
  EXPECT_LE(power_difference(cw, pulse), 1e-4);
  record("field", field_difference(cw, pulse));
  record("power", power_difference(cw, pulse));

  body = small_body(20.0, 20, "double");
  body.duration = "{decay: 120 dB}";
  std::array<char, 40> courant{};
  std::snprintf(courant.data(), courant.size(), ", courant: %.17g",
                cw.plan.grid.time_step * materials::speed_of_light * std::sqrt(2.0) /
                    cw.plan.grid.raster.cell);
  body.grid += courant.data();
  const FullWaveRun same_step = run_full_wave(body.scenario());
  EXPECT_LE(field_difference(cw, same_step), 2e-5);
  EXPECT_LE(power_difference(cw, same_step), 2e-7);
  record("field_same_step", field_difference(cw, same_step));
  record("power_same_step", power_difference(cw, same_step));
}

}  // namespace
}  // namespace torsowave::reference
