// Round bodies at random, invented: sources of every kind, from 12 to 29 cells per
// wavelength, resonant and thin-layered ones among them. The estimates of errors were
// calibrated on other such bodies (other seeds); this is the check.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "published/full_wave_exact_cases.hpp"

namespace torsowave::reference {
namespace {

namespace cylinder = solver::cylinder;

class Dice {
public:
  explicit Dice(unsigned seed) : engine_(seed) {}
  [[nodiscard]] double between(double low, double high)
  {
    return low + (high - low) * static_cast<double>(engine_()) /
                     static_cast<double>(std::mt19937::max());
  }
  [[nodiscard]] std::size_t below(std::size_t count) { return engine_() % count; }

private:
  std::mt19937 engine_;
};

std::vector<Ring> rings_of(Dice& dice, double radius_mm)
{
  const std::vector<std::vector<std::string>> bodies{
      {"muscle"},
      {"muscle", "fat_not_infiltrated"},
      {"muscle", "fat_not_infiltrated", "skin_dry"},
      {"fat_not_infiltrated"},
      {"liver", "muscle", "fat_not_infiltrated", "skin_dry"},
      {"lung_inflated", "muscle", "skin_dry"},
      {"blood", "muscle"},
      {"bone_cortical", "muscle", "skin_dry"}};
  const std::vector<std::string>& tissues = bodies[dice.below(bodies.size())];
  std::vector<Ring> rings;
  for (std::size_t n = tissues.size(); n-- > 0;) {
    rings.insert(rings.begin(), {tissues[n], radius_mm});
    radius_mm -= tissues[n] == "skin_dry" ? dice.between(1.2, 2.5)
                 : tissues[n] == "fat_not_infiltrated"
                     ? dice.between(3.0, 8.0)
                     : radius_mm * dice.between(0.3, 0.5);
  }
  return rings;
}

/// 0.1 mm and whole degrees, as the scenario says them.
double rounded(double value, double step)
{
  return std::round(value / step) * step;
}

void place_source(Dice& dice, double radius_mm, RoundCase& round)
{
  const std::size_t kind = dice.below(5);
  const double rho = dice.between(0.0, 0.75) * radius_mm;
  const double phi = dice.between(0.0, 2.0 * std::numbers::pi);
  const double direction_deg = rounded(dice.between(0.0, 360.0), 1.0);
  const double direction = direction_deg * std::numbers::pi / 180.0;
  const double x_mm = rounded(rho * std::cos(phi), 0.1);
  const double y_mm = rounded(rho * std::sin(phi), 0.1);
  round.mode = kind == 0 || kind == 3 ? "TMz" : "TEz";
  if (kind >= 3) {
    round.margin_mm = 130;
    round.source =
        fmt::format("incident: {{plane_wave: {{angle: {} deg}}}}", direction_deg);
    round.exact_source = cylinder::PlaneWave{direction};
    return;
  }
  const geometry::Point at{x_mm * 1e-3, y_mm * 1e-3};
  round.margin_mm = 60;
  round.source =
      fmt::format("implant: {{position: [{:.1f} mm, {:.1f} mm], source: {}}}", x_mm, y_mm,
                  kind == 0   ? "line_current"
                  : kind == 1 ? "magnetic_line"
                              : fmt::format("dipole, direction: {} deg", direction_deg));
  if (kind == 2) {
    round.exact_source = cylinder::Dipole{at, direction};
  } else {
    round.exact_source = cylinder::LineSource{at};
  }
}

/// So near to an interface that the cells of both meet.
bool source_near_interface(const RoundCase& round)
{
  const auto* line = std::get_if<cylinder::LineSource>(&round.exact_source);
  const auto* dipole = std::get_if<cylinder::Dipole>(&round.exact_source);
  if (line == nullptr && dipole == nullptr) {
    return false;
  }
  const geometry::Point at = line != nullptr ? line->position : dipole->position;
  return std::ranges::any_of(round.rings, [&](const Ring& ring) {
    return std::abs(std::hypot(at.x, at.y) * 1e3 - ring.outer_radius_mm) < 2.0;
  });
}

RoundCase random_case(unsigned seed)
{
  for (;; seed += 1000) {
    Dice dice(seed);
    RoundCase round;
    const double radius_mm = rounded(dice.between(18.0, 45.0), 0.1);
    round.rings = rings_of(dice, radius_mm);
    place_source(dice, radius_mm, round);
    round.cells = 12 + static_cast<int>(dice.below(18));
    round.band = dice.below(2) == 0
                     ? "waveform: {type: pulse, center: 0.7 GHz, bandwidth: 0.9 GHz}\n"
                       "frequencies: [403.5 MHz, 915 MHz]\n"
                     : "waveform: {type: pulse, center: 1.7 GHz, bandwidth: 2 GHz}\n"
                       "frequencies: [915 MHz, 2.45 GHz]\n";
    round.name = fmt::format("{} {}", round.mode, seed);
    if (!source_near_interface(round)) {
      return round;
    }
  }
}

class FullWaveUncertaintyAtRandom : public testing::TestWithParam<unsigned> {};

TEST_P(FullWaveUncertaintyAtRandom, TheTrueErrorIsInsideWhatIsStated)
{
  const ExactCase one = round_case(random_case(GetParam()));
  expect_inside(one, run_full_wave(one.scenario));
}

INSTANTIATE_TEST_SUITE_P(RoundBodies, FullWaveUncertaintyAtRandom,
                         testing::Range(1U, 201U));

}  // namespace
}  // namespace torsowave::reference
