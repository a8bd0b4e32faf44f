// The gain of a short dipole from its slice: 1.5 wherever nothing but one medium is
// around it, with and without a capsule.

#include "postproc/antenna_gain.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <vector>

#include "materials/constants.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::postproc {
namespace {

namespace cylinder = solver::cylinder;
using solver::Polarisation;
using solver::RadiatorKind;

constexpr double frequency = 2.45e9;

FarZone zone_of(RadiatorKind kind, double eps = 1.0)
{
  return {kind == RadiatorKind::dipole ? Polarisation::tez : Polarisation::tmz, frequency,
          eps};
}

constexpr std::array kinds{RadiatorKind::line_current, RadiatorKind::dipole};
constexpr double broadside = std::numbers::pi / 2.0;  // from an in-plane dipole

/// The textbook's short dipole (C. A. Balanis, *Antenna Theory*, ch. 4, from memory).
const double textbook_dbi = 10.0 * std::log10(1.5);

// EIRP = eta0 k0^2/(8 pi) over P = eta0 k0^2/(12 pi).
TEST(AntennaGain, OfAShortDipoleInAirIsThatOfTheTextbook)
{
  const double k0 = materials::two_pi * frequency / materials::speed_of_light;
  const double unit = materials::vacuum_impedance * k0 * k0 / std::numbers::pi;
  for (const RadiatorKind kind : kinds) {
    const FarZone zone = zone_of(kind);
    const std::vector<double> u{bare_intensity(kind, zone, broadside)};
    const AntennaGain gain = antenna_gain(u, zone, {5e-3, 1.0, 1.0}, {kind, true});
    EXPECT_NEAR(gain.eirp.at(0) / unit, 1.0 / 8.0, 1e-14);
    EXPECT_NEAR(gain.delivered / unit, 1.0 / 12.0, 1e-14);
    EXPECT_NEAR(gain.gain_dbi.at(0), textbook_dbi, 1e-12);
    EXPECT_NEAR(gain.gain_dbi.at(0), 1.761, 5e-4);
  }
}

/// U broadside of a slice with nothing but a round capsule in a lossless medium.
double intensity_beside(RadiatorKind kind, const solver::Capsule& capsule)
{
  const cylinder::Source source = kind == RadiatorKind::dipole
                                      ? cylinder::Source(cylinder::Dipole{{}, 0.0})
                                      : cylinder::Source(cylinder::LineSource{{}});
  const cylinder::Solution slice(
      {{{capsule.radius, capsule.eps_filling}}, capsule.eps_tissue},
      zone_of(kind).polarisation, frequency, source);
  const std::vector<double> angles{broadside};
  return slice.far_field(angles).at(0).intensity;
}

// A sphere about a dipole changes what it delivers, not its pattern: still 1.5, though
// the slice's cylinder changes U in another way. Slices by the series for cylinders.
TEST(AntennaGain, IsTheTextbooksWithACapsuleOfAnotherMedium)
{
  for (const solver::Capsule& capsule :
       {solver::Capsule{5e-3, 1.0, 50.0}, solver::Capsule{2e-3, 9.0, 4.0},
        solver::Capsule{12e-3, 3.0, 20.0}}) {
    for (const RadiatorKind kind : kinds) {
      const FarZone zone = zone_of(kind, capsule.eps_tissue.real());
      const std::vector<double> drawn{intensity_beside(kind, capsule)};
      const std::vector<double> bare{bare_intensity(kind, zone, broadside)};
      EXPECT_NEAR(antenna_gain(drawn, zone, capsule, {kind, true}).gain_dbi.at(0),
                  textbook_dbi, 1e-10);
      EXPECT_NEAR(antenna_gain(bare, zone, capsule, {kind, false}).gain_dbi.at(0),
                  textbook_dbi, 1e-10);
    }
  }
}

// Small capsule of air in eps2 -> infinity: sphere 3/2, cylinder 1 along and 2 across it.
TEST(AntennaGain, TakesTheSphereForTheCylinder)
{
  const solver::Capsule capsule{1e-6, 1.0, {1e4, -1e4}};
  EXPECT_NEAR(capsule_factor(capsule, frequency, {RadiatorKind::line_current, true}),
              9.0 / 4.0, 1e-3);
  EXPECT_NEAR(capsule_factor(capsule, frequency, {RadiatorKind::dipole, true}),
              9.0 / 16.0, 1e-3);
  EXPECT_NEAR(capsule_factor(capsule, frequency, {RadiatorKind::dipole, false}),
              9.0 / 4.0, 1e-3);
}

TEST(AntennaGain, RefusesOtherSourcesAndKeepsZeros)
{
  const solver::Capsule capsule{5e-3, 1.0, 1.0};
  const std::vector<double> u{0.0};
  const FarZone tez = zone_of(RadiatorKind::dipole);
  const auto refuses = [&](RadiatorKind kind) {
    EXPECT_THROW(static_cast<void>(antenna_gain(u, tez, capsule, {kind, true})),
                 std::invalid_argument);
  };
  refuses(RadiatorKind::magnetic_line);
  refuses(RadiatorKind::current_sheet);
  refuses(RadiatorKind::line_current);  // of the other polarisation
  EXPECT_EQ(antenna_gain(u, tez, capsule, {RadiatorKind::dipole, true}).gain_dbi.at(0),
            -std::numeric_limits<double>::infinity());
}

}  // namespace
}  // namespace torsowave::postproc
