// TEz in a round body with an air capsule, 10 mm of fat and 2 mm of skin, at 2.45 GHz:
// the magnetic field in the air against the series of layered_cylinder.hpp for the same
// (fitted) media.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "published/full_wave_run.hpp"

namespace torsowave::reference {
namespace {

namespace cylinder = solver::cylinder;

struct TezCase {
  std::string source;  ///< of the scenario
  double capsule_mm = 4.0;
  int cells = 20;  ///< per wavelength in muscle
  std::string averaging = "volume";
  std::vector<Ring> around{///< around the capsule, innermost first
                           {"muscle", 60.0},
                           {"fat_not_infiltrated", 70.0},
                           {"skin_dry", 72.0}};

  /// Of the circle looked at, 12 mm outside the body [m].
  [[nodiscard]] double outside() const
  {
    return (around.back().outer_radius_mm + 12.0) * 1e-3;
  }
};

struct TezErrors {
  FieldErrors field;         ///< within 30 dB of the largest
  FieldErrors strong;        ///< within 10 dB of the largest
  double radiated_db = 0.0;  ///< power, against the exact one
  SectorErrors sectors;
};

constexpr geometry::Point source_at{0.002, 0.001};  ///< in the capsule, off its centre

std::string scenario_of(const TezCase& one)
{
  const auto circle = [](const char* tissue, double radius_mm) {
    return fmt::format(
        "    - {{tissue: {}, circle: {{center: [0 mm, 0 mm], radius: {} mm}}}}\n", tissue,
        radius_mm);
  };
  std::string shapes = circle("air", one.capsule_mm);
  for (const Ring& ring : one.around) {
    shapes.insert(0, circle(ring.tissue.c_str(), ring.outer_radius_mm));
  }
  return fmt::format(
      "title: round body\nmode: TEz\n"
      "grid: {{cells_per_wavelength: {}, margin: 20 mm, averaging: {}, precision: "
      "double}}\n"
      "body:\n  background: air\n  shapes:\n{}"
      "implant: {{position: [2 mm, 1 mm], source: {}}}\n"
      "waveform: {{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}}\n"
      "frequencies: [2.45 GHz]\nduration: {{decay: 80 dB}}\noutputs: {{phasors: [Hz]}}\n",
      one.cells, one.averaging, shapes, one.source);
}

cylinder::Solution exact_of(const TezCase& one, const app::RunPlan& plan)
{
  cylinder::Body body{{{one.capsule_mm * 1e-3, fitted_permittivity(plan, "air", 0)}}};
  for (const Ring& ring : one.around) {
    body.layers.push_back(
        {ring.outer_radius_mm * 1e-3, fitted_permittivity(plan, ring.tissue, 0)});
  }
  const cylinder::Source source =
      one.source.starts_with("dipole")
          ? cylinder::Source(cylinder::Dipole{source_at, std::numbers::pi / 6.0})
          : cylinder::Source(cylinder::LineSource{source_at});
  return {body, solver::Polarisation::tez, 2.45e9, source};
}

TezErrors errors_of(const TezCase& one)
{
  const FullWaveRun run = run_full_wave(scenario_of(one));
  const cylinder::Solution exact = exact_of(one, run.plan);
  std::vector<FieldPair> pairs;
  for (int n = 0; n < 72; ++n) {
    const FullWaveRun::Cell cell =
        run.cell_at(one.outside(), 2.0 * std::numbers::pi * n / 72.0);
    pairs.push_back({run.ez(0, cell.i, cell.j), exact.at(cell.centre).z});
  }
  EXPECT_LT(run.result.frequencies[0].power_balance_residual, 1e-4);
  const double radiated = run.result.frequencies[0].radiated_power;
  const TezErrors errors{
      errors_within(pairs, 30.0), errors_within(pairs, 10.0),
      10.0 * std::log10(radiated / exact.powers().radiated.value()),
      sector_errors(run, exact, 0, one.around.back().outer_radius_mm * 1e-3)};
  testing::Test::RecordProperty(
      fmt::format("{}_{}_{}_{:.0f}mm", one.source.substr(0, 6), one.averaging, one.cells,
                  one.around.back().outer_radius_mm),
      fmt::format(
          "worst {:.4f} dB, within 10 dB {:.4f} dB, of largest {:.2e}, rms {:.2e}, "
          "radiated {:+.4f} dB, sectors {:.2e} of largest, {:.4f} dB",
          errors.field.worst_db, errors.strong.worst_db, errors.field.worst_of_largest,
          errors.field.rms, errors.radiated_db, errors.sectors.worst_of_largest,
          errors.sectors.worst_db));
  return errors;
}

double order(double coarse, double fine)
{
  return std::log2(coarse / fine);
}

// Measured at 10, 20 and 40 cells per wavelength: 0.917, 0.201 and 0.039 dB at the worst
// angle, 11.2, 2.26 and 0.50 % root mean square, radiated power 0.299, 0.080 and 0.018
// dB: order 2.2 to 2.3. The worst of 72 sectors, over the largest: 16.6, 4.3 and 1.8 %.
// There the field beside the interface counts, whose own errors of first order die out
// within a few cells (\see docs/validation.md, "Power by sector").
TEST(FullWaveTez, AMagneticLineInACapsuleConvergesToTheSeries)
{
  const TezErrors coarse = errors_of({"magnetic_line", 4.0, 10, "volume"});
  const TezErrors middle = errors_of({"magnetic_line", 4.0, 20, "volume"});
  const TezErrors fine = errors_of({"magnetic_line", 4.0, 40, "volume"});
  EXPECT_EQ(middle.field.count, 72);
  EXPECT_LE(middle.field.worst_db, 0.3);
  EXPECT_LE(fine.field.worst_db, 0.1);
  EXPECT_LE(middle.sectors.worst_of_largest, 0.055);
  EXPECT_LE(fine.sectors.worst_of_largest, 0.025);
  EXPECT_GE(order(coarse.field.rms, middle.field.rms), 1.5);
  EXPECT_GE(order(middle.field.rms, fine.field.rms), 1.5);
  EXPECT_GE(order(middle.field.worst_db, fine.field.worst_db), 1.5);
}

// Without averaging interfaces are staircases. Measured at 20 and 40 cells, once: 6.8 and
// 3.5 % root mean square, order 0.98. Here at 10 and 20 cells, where the order of a
// staircase is still a matter of luck, only that averaging is better.
TEST(FullWaveTez, AveragingBeatsTheStaircase)
{
  const TezErrors averaged = errors_of({"magnetic_line", 4.0, 20, "volume"});
  const TezErrors staircase = errors_of({"magnetic_line", 4.0, 20, "none"});
  EXPECT_GE(staircase.field.rms, 2.0 * averaged.field.rms);
}

// A dipole at 30 deg, 2.2 mm off the centre of a capsule of 10 mm radius. Its pattern has
// minima, so the field as a whole is what converges; in dB the bounds hold where it is
// strong.
TEST(FullWaveTez, ADipoleInACapsuleConvergesToTheSeries)
{
  const std::string dipole = "dipole, direction: 30 deg";
  const TezErrors middle = errors_of({dipole, 10.0, 20, "volume"});
  const TezErrors fine = errors_of({dipole, 10.0, 40, "volume"});
  EXPECT_LE(std::abs(middle.radiated_db), 0.1);
  EXPECT_LE(std::abs(fine.radiated_db), 0.03);
  EXPECT_LE(middle.field.worst_of_largest, 0.05);
  EXPECT_LE(fine.field.worst_of_largest, 0.012);
  EXPECT_GE(order(middle.field.rms, fine.field.rms), 1.5);
}

// The same dipole and capsule with 4 mm of muscle around them, not 62: what is left is
// not the dipole's or the capsule's error, it is gathered on the way through the muscle
// (docs/validation.md). Measured: 0.061 dB within 10 dB, 0.26 % root mean square; 0.37 dB
// and 2.4 % in the whole body.
TEST(FullWaveTez, ADipoleInACapsuleIsExactBeforeTheMuscle)
{
  const TezErrors errors =
      errors_of({"dipole, direction: 30 deg", 10.0, 20, "volume", {{"muscle", 14.0}}});
  EXPECT_LE(errors.strong.worst_db, 0.1);
  EXPECT_LE(errors.field.rms, 0.004);
}

}  // namespace
}  // namespace torsowave::reference
