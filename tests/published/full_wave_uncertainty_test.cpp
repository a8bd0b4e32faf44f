// The true error of what leaves, against exact solutions of the tissues' own models, lies
// inside the uncertainty that the run states: by its estimates, and by a second cell
// size. Measured: docs/validation.md, "Stated uncertainty".

#include <gtest/gtest.h>

#include <numbers>
#include <string>
#include <vector>

#include "published/full_wave_exact_cases.hpp"

namespace torsowave::reference {
namespace {

namespace cylinder = solver::cylinder;

const std::string low_band =
    "waveform: {type: pulse, center: 0.7 GHz, bandwidth: 0.9 GHz}\n"
    "frequencies: [403.5 MHz, 915 MHz]\n";
const std::string high_band =
    "waveform: {type: pulse, center: 1.7 GHz, bandwidth: 2 GHz}\n"
    "frequencies: [915 MHz, 2.45 GHz]\n";

const std::vector<Ring> limb{
    {"muscle", 22.0}, {"fat_not_infiltrated", 28.0}, {"skin_dry", 30.0}};
const std::vector<Ring> muscle{{"muscle", 30.0}};

std::vector<Ring> with_capsule(std::vector<Ring> rings)
{
  rings.insert(rings.begin(), {"air", 4.0});
  return rings;
}

std::string centred(const std::string& source, bool capsule)
{
  return "implant: {position: [0 mm, 0 mm], source: " + source +
         (capsule ? ", capsule: {radius: 4 mm, material: air}}" : "}");
}

const cylinder::LineSource line_at_centre{{0.0, 0.0}};

std::vector<RoundCase> centred_cases()
{
  return {{"TMz line, centred in muscle", "TMz", muscle, centred("line_current", false),
           line_at_centre, high_band},
          {"TMz line in a capsule", "TMz", with_capsule(muscle),
           centred("line_current", true), line_at_centre, high_band},
          {"TEz magnetic line in a capsule", "TEz", with_capsule(limb),
           centred("magnetic_line", true), line_at_centre, high_band},
          {"TEz dipole in a capsule", "TEz", with_capsule(muscle),
           centred("dipole, direction: 30 deg", true),
           cylinder::Dipole{{0.0, 0.0}, std::numbers::pi / 6.0}, high_band}};
}

std::vector<RoundCase> eccentric_cases()
{
  const geometry::Point off{0.011, 0.007};
  const std::string at = "implant: {position: [11 mm, 7 mm], source: ";
  return {{"TMz line, off the axis of a limb", "TMz", limb, at + "line_current}",
           cylinder::LineSource{off}, high_band},
          {"TMz line, off the axis of muscle in fat",
           "TMz",
           {{"muscle", 25.0}, {"fat_not_infiltrated", 35.0}},
           at + "line_current}",
           cylinder::LineSource{off},
           low_band,
           30},
          {"TEz magnetic line, off the axis of a limb", "TEz", limb,
           at + "magnetic_line}", cylinder::LineSource{off}, high_band},
          {"TEz dipole, off the axis of muscle", "TEz", muscle,
           at + "dipole, direction: 90 deg}",
           cylinder::Dipole{off, 0.5 * std::numbers::pi}, high_band}};
}

std::vector<RoundCase> plane_wave_cases()
{
  const std::string wave = "incident: {plane_wave: {angle: 30 deg}}";
  const cylinder::PlaneWave exact{std::numbers::pi / 6.0};
  return {{"TMz plane wave on a limb", "TMz", limb, wave, exact, high_band},
          {"TEz plane wave on a limb", "TEz", limb, wave, exact, high_band}};
}

std::vector<ExactCase> cases()
{
  std::vector<ExactCase> all{
      plane_wave_on_layers("skin, fat, muscle",
                           {{"skin_dry", 2.0}, {"fat_not_infiltrated", 10.0}}, "muscle",
                           false),
      plane_wave_on_layers(
          "slab from the right",
          {{"skin_dry", 1.7}, {"fat_not_infiltrated", 6.2}, {"muscle", 15.6}}, "air",
          true),
      sheet_in_muscle()};
  for (const auto& rounds : {centred_cases(), eccentric_cases(), plane_wave_cases()}) {
    for (const RoundCase& round : rounds) {
      all.push_back(round_case(round));
    }
  }
  return all;
}

class FullWaveUncertainty : public testing::TestWithParam<std::size_t> {};

TEST_P(FullWaveUncertainty, TheTrueErrorIsInsideWhatIsStated)
{
  const ExactCase one = cases().at(GetParam());
  expect_inside(one, run_full_wave(one.scenario));
}

TEST_P(FullWaveUncertainty, TheTrueErrorIsInsideWhatASecondCellSizeStates)
{
  const ExactCase one = cases().at(GetParam());
  expect_inside(one, run_full_wave(one.scenario, 2.0 / 3.0));
}

INSTANTIATE_TEST_SUITE_P(ExactCases, FullWaveUncertainty,
                         testing::Range<std::size_t>(0, 13));

}  // namespace
}  // namespace torsowave::reference
