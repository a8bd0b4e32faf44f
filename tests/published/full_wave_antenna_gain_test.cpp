// The gain of a short dipole in air, from a scenario file to dBi: 1.5 (C. A. Balanis,
// *Antenna Theory*, ch. 4, from memory), in TMz in every direction of the plane, in TEz
// beside the dipole.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include "postproc/antenna_gain.hpp"
#include "published/full_wave_run.hpp"

namespace torsowave::reference {
namespace {

constexpr double frequency = 2.45e9;
const double textbook_dbi = 10.0 * std::log10(1.5);

/// Gain by angle of a source in the middle of an empty domain: the body, which a scenario
/// must have, is of permittivity 1.
postproc::AntennaGain gain_of(solver::RadiatorKind kind, double cell_mm)
{
  const bool line = kind == solver::RadiatorKind::line_current;
  const FullWaveRun run = run_full_wave(fmt::format(
      "title: nothing but air\nmode: {}\n"
      "grid: {{cell: {} mm, margin: 40 mm, precision: double}}\n"
      "body:\n  background: air\n  shapes:\n"
      "    - {{tissue: nothing, circle: {{center: [0 mm, 0 mm], radius: 40 mm}}}}\n"
      "materials:\n  custom:\n"
      "    nothing: {{permittivity: 1, conductivity: 0 S/m, density: 1 kg/m3}}\n"
      "implant: {{position: [0 mm, 0 mm], source: {}}}\n"
      "waveform: {{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}}\n"
      "frequencies: [2.45 GHz]\nduration: {{decay: 80 dB}}\n",
      line ? "TMz" : "TEz", cell_mm, line ? "line_current" : "dipole, direction: 0 deg"));
  const postproc::FarZone zone{
      line ? solver::Polarisation::tmz : solver::Polarisation::tez, frequency, 1.0};
  return postproc::antenna_gain(run.result.frequencies.at(0).far_field.value().intensity,
                                zone, {5e-3, 1.0, 1.0}, {kind, true});
}

/// Largest error [dB] in the given directions [deg].
double worst_error(const postproc::AntennaGain& gain, const std::vector<int>& directions)
{
  double worst = 0.0;
  for (const int degrees : directions) {
    worst = std::max(worst, std::abs(gain.gain_dbi.at(degrees) - textbook_dbi));
  }
  return worst;
}

/// With 61 and 122 cells per wavelength. What is left is the grid's: of second order.
void expect_textbook(solver::RadiatorKind kind, const std::vector<int>& directions)
{
  const double coarse = worst_error(gain_of(kind, 2.0), directions);
  const double fine = worst_error(gain_of(kind, 1.0), directions);
  testing::Test::RecordProperty("gain_error_db",
                                fmt::format("{:.5f}, {:.5f}", coarse, fine));
  EXPECT_LT(coarse, 0.02);
  EXPECT_NEAR(std::log2(coarse / fine), 2.0, 0.1);
}

TEST(AntennaGainInAir, IsOneAndAHalfInTheEquatorialPlane)
{
  std::vector<int> all(postproc::far_directions);
  std::iota(all.begin(), all.end(), 0);
  expect_textbook(solver::RadiatorKind::line_current, all);
}

TEST(AntennaGainInAir, IsOneAndAHalfBesideAnInPlaneDipole)
{
  expect_textbook(solver::RadiatorKind::dipole, {90, 270});  // it lies along x
}

}  // namespace
}  // namespace torsowave::reference
