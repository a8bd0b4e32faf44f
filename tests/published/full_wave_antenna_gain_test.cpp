// The gain of a short dipole in air, from a scenario file to dBi: 1.5 (C. A. Balanis,
// *Antenna Theory*, ch. 4, from memory), in TMz in every direction of the plane, in TEz
// beside the dipole.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "postproc/antenna_gain.hpp"
#include "published/full_wave_run.hpp"

namespace torsowave::reference {
namespace {

constexpr double frequency = 2.45e9;
const double textbook_dbi = 10.0 * std::log10(1.5);

/// Gain by angle of a source in the middle of an empty domain.
postproc::AntennaGain gain_of(const std::string& mode, const std::string& source)
{
  const FullWaveRun run = run_full_wave(fmt::format(
      "title: nothing but air\nmode: {}\n"
      "grid: {{cell: 2 mm, margin: 40 mm, precision: double}}\n"
      "body:\n  background: air\n  shapes:\n"
      "    - {{tissue: air, circle: {{center: [0 mm, 0 mm], radius: 40 mm}}}}\n"
      "implant: {{position: [0 mm, 0 mm], source: {}}}\n"
      "waveform: {{type: pulse, center: 2.45 GHz, bandwidth: 1.5 GHz}}\n"
      "frequencies: [2.45 GHz]\nduration: {{decay: 80 dB}}\n",
      mode, source));
  const bool tmz = mode == "TMz";
  const postproc::FarZone zone{
      tmz ? solver::Polarisation::tmz : solver::Polarisation::tez, frequency, 1.0};
  const solver::RadiatorKind kind =
      tmz ? solver::RadiatorKind::line_current : solver::RadiatorKind::dipole;
  return postproc::antenna_gain(run.result.frequencies.at(0).far_field.value().intensity,
                                zone, {5e-3, 1.0, 1.0}, {kind, true});
}

TEST(AntennaGainInAir, IsOneAndAHalfInTheEquatorialPlane)
{
  const postproc::AntennaGain gain = gain_of("TMz", "line_current");
  const auto [least, most] =
      std::minmax_element(gain.gain_dbi.begin(), gain.gain_dbi.end());
  RecordProperty("gain_error_db", fmt::format("{:+.5f} to {:+.5f}", *least - textbook_dbi,
                                              *most - textbook_dbi));
  EXPECT_NEAR(*least, textbook_dbi, 0.02);
  EXPECT_NEAR(*most, textbook_dbi, 0.02);
}

TEST(AntennaGainInAir, IsOneAndAHalfBesideAnInPlaneDipole)
{
  const postproc::AntennaGain gain =
      gain_of("TEz", "dipole, direction: 0 deg");  // along x: strongest at 90 and 270 deg
  ASSERT_EQ(gain.gain_dbi.size(), 360U);
  RecordProperty("gain_error_db",
                 fmt::format("{:+.5f}, {:+.5f}", gain.gain_dbi[90] - textbook_dbi,
                             gain.gain_dbi[270] - textbook_dbi));
  EXPECT_NEAR(gain.gain_dbi[90], textbook_dbi, 0.02);
  EXPECT_NEAR(gain.gain_dbi[270], textbook_dbi, 0.02);
}

}  // namespace
}  // namespace torsowave::reference
