// What the exact fields of layered cylinders must fulfil, whatever the numbers.

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <ostream>
#include <stdexcept>
#include <string>
#include <vector>

#include "published/layered_cylinder_cases.hpp"

namespace torsowave::reference {
namespace {

using solver::Polarisation;
using std::numbers::pi;

struct Scene {
  std::string name;
  Polarisation polarisation;
  cylinder::Source source;
};

std::ostream& operator<<(std::ostream& stream, const Scene& shown)
{
  return stream << shown.name;
}

/// A source of each kind in each of a few media of the round trunk.
std::vector<Scene> scenes()
{
  std::vector<Scene> all;
  for (const auto& [place, rho] :
       {std::pair{"capsule", 0.006}, {"muscle", 0.03}, {"fat", 0.072}, {"air", 0.12}}) {
    const geometry::Point at = polar_point(rho, 0.4);
    all.push_back({std::string("electric_line_in_") + place, Polarisation::tmz,
                   cylinder::LineSource{at}});
    all.push_back({std::string("magnetic_line_in_") + place, Polarisation::tez,
                   cylinder::LineSource{at}});
    all.push_back({std::string("dipole_in_") + place, Polarisation::tez,
                   cylinder::Dipole{at, 1.1}});
  }
  all.push_back({"wave_tmz", Polarisation::tmz, cylinder::PlaneWave{2.2}});
  all.push_back({"wave_tez", Polarisation::tez, cylinder::PlaneWave{2.2}});
  return all;
}

class RoundTrunk : public testing::TestWithParam<Scene> {
protected:
  [[nodiscard]] cylinder::Solution solution(const cylinder::Body& body) const
  {
    return {body, GetParam().polarisation, mics, GetParam().source};
  }
};

INSTANTIATE_TEST_SUITE_P(AllSources, RoundTrunk, testing::ValuesIn(scenes()),
                         [](const auto& instance) { return instance.param.name; });

/// (x, y) along the unit vectors of radius and angle.
std::array<Complex, 2> in_polar(const cylinder::Field& field, double phi)
{
  return {field.x * std::cos(phi) + field.y * std::sin(phi),
          field.y * std::cos(phi) - field.x * std::sin(phi)};
}

// Ez and H_phi, Hz and E_phi are continuous, and so is the flux density normal to the
// interface: H_rho (TMz), eps E_rho (TEz). A step of 1e-13 m moves none of them by more
// than 1e-9.
TEST_P(RoundTrunk, FieldsAreContinuousAcrossInterfaces)
{
  const cylinder::Body body = round_trunk();
  const cylinder::Solution exact = solution(body);
  const bool is_te = GetParam().polarisation == Polarisation::tez;
  for (std::size_t m = 0; m < body.layers.size(); ++m) {
    const double radius = body.layers[m].outer_radius;
    const Complex outside =
        m + 1 < body.layers.size() ? body.layers[m + 1].eps_r : body.eps_outside;
    const Complex jump = is_te ? body.layers[m].eps_r / outside : 1.0;
    for (const double phi : {0.2, 2.0, 3.5}) {
      const cylinder::Field in = field_on_circle(exact, radius, phi);
      const cylinder::Field out = field_on_circle(exact, radius + 1e-13, phi);
      const auto [in_rho, in_phi] = in_polar(in, phi);
      const auto [out_rho, out_phi] = in_polar(out, phi);
      EXPECT_LT(relative_difference(out.z, in.z), 1e-9) << radius << ' ' << phi;
      EXPECT_LT(relative_difference(out_phi, in_phi), 1e-9) << radius << ' ' << phi;
      EXPECT_LT(relative_difference(out_rho, in_rho * jump), 1e-9)
          << radius << ' ' << phi;
    }
  }
}

// curl E = -j w mu0 H and curl H = j w eps E by central differences: the transverse
// fields are the right derivatives of the field along z, and that fulfils the wave
// equation. The differences err by (k h)^2/6 and more near the source.
TEST_P(RoundTrunk, FieldsFulfilMaxwellsEquations)
{
  const cylinder::Body body = round_trunk();
  const cylinder::Solution exact = solution(body);
  const bool is_te = GetParam().polarisation == Polarisation::tez;
  const Complex j_omega(0.0, materials::two_pi * mics);
  const double h = 1e-6;
  for (const double rho : {0.004, 0.05, 0.07, 0.083, 0.2}) {
    const geometry::Point at = polar_point(rho, 1.3);
    std::size_t m = 0;
    while (m < body.layers.size() && rho > body.layers[m].outer_radius) {
      ++m;
    }
    const Complex eps_r = m < body.layers.size() ? body.layers[m].eps_r : 1.0;
    const Complex j_omega_eps = j_omega * materials::vacuum_permittivity * eps_r;
    const Complex j_omega_mu = j_omega * materials::vacuum_permeability;
    const cylinder::Field east = exact.at({at.x + h, at.y});
    const cylinder::Field west = exact.at({at.x - h, at.y});
    const cylinder::Field north = exact.at({at.x, at.y + h});
    const cylinder::Field south = exact.at({at.x, at.y - h});
    const cylinder::Field here = exact.at(at);
    const Complex curl_x = (north.z - south.z) / (2.0 * h);
    const Complex curl_y = -(east.z - west.z) / (2.0 * h);
    const Complex curl_z = (east.y - west.y - north.x + south.x) / (2.0 * h);
    const Complex along = is_te ? j_omega_eps : -j_omega_mu;
    const Complex across = is_te ? -j_omega_mu : j_omega_eps;
    const double size = std::hypot(std::abs(here.x), std::abs(here.y));
    EXPECT_LT(std::abs(curl_x / along - here.x), 1e-6 * size) << rho;
    EXPECT_LT(std::abs(curl_y / along - here.y), 1e-6 * size) << rho;
    const double terms = std::abs(east.y - west.y) + std::abs(north.x - south.x);
    EXPECT_LT(std::abs(curl_z - across * here.z), 1e-6 * terms / (2.0 * h)) << rho;
  }
}

// A layer cut in two of the same medium is the same body.
TEST_P(RoundTrunk, CutLayersChangeNothing)
{
  const cylinder::Body body = round_trunk();
  cylinder::Body cut = body;
  cut.layers.insert(cut.layers.begin(), {0.004, body.layers[0].eps_r});
  cut.layers.insert(cut.layers.begin() + 2, {0.04, body.layers[1].eps_r});
  cut.layers.insert(cut.layers.begin() + 4, {0.07, body.layers[2].eps_r});
  cut.layers.push_back({0.1, body.eps_outside});
  const cylinder::Solution one = solution(body);
  const cylinder::Solution other = solution(cut);
  for (const double rho : {0.0, 0.005, 0.05, 0.0705, 0.09, 0.3}) {
    EXPECT_LT(field_difference(field_on_circle(other, rho, 2.0),
                               field_on_circle(one, rho, 2.0)),
              1e-14)
        << rho;
  }
  EXPECT_NEAR(other.powers().leaving / one.powers().leaving, 1.0, 1e-14);
}

// The same body elsewhere, turned: the fields go with it; a plane wave's phase is that of
// the origin.
TEST_P(RoundTrunk, MovesAndTurnsWithItsSource)
{
  const geometry::Point shift{0.03, -0.02};
  const double turn = 0.7;
  const auto moved = [&](geometry::Point p) {
    return geometry::Point{shift.x + p.x * std::cos(turn) - p.y * std::sin(turn),
                           shift.y + p.x * std::sin(turn) + p.y * std::cos(turn)};
  };
  cylinder::Body body = round_trunk();
  const cylinder::Solution here = solution(body);
  body.centre = shift;
  cylinder::Source source = GetParam().source;
  Complex phase = 1.0;
  if (auto* line = std::get_if<cylinder::LineSource>(&source)) {
    line->position = moved(line->position);
  } else if (auto* dipole = std::get_if<cylinder::Dipole>(&source)) {
    *dipole = {moved(dipole->position), dipole->direction + turn};
  } else {
    auto& wave = std::get<cylinder::PlaneWave>(source);
    wave.direction += turn;
    const double k = materials::two_pi * mics / materials::speed_of_light;
    phase = std::polar(1.0, -k * (shift.x * std::cos(wave.direction) +
                                  shift.y * std::sin(wave.direction)));
  }
  const cylinder::Solution there(body, GetParam().polarisation, mics, source);
  for (const geometry::Point p : {polar_point(0.05, 1.0), polar_point(0.2, -2.0)}) {
    const cylinder::Field a = here.at(p);
    const cylinder::Field b = there.at(moved(p));
    const cylinder::Field turned{
        phase * a.z, phase * (a.x * std::cos(turn) - a.y * std::sin(turn)),
        phase * (a.x * std::sin(turn) + a.y * std::cos(turn)), 0.0};
    EXPECT_LT(field_difference(b, turned), 1e-12);
  }
}

// r E(r) exp(j k r) sqrt(r) tends to the far amplitude with 1/r; r from the origin, also
// for a body that is elsewhere.
TEST_P(RoundTrunk, FarFieldIsTheLimitOfTheField)
{
  cylinder::Body body = round_trunk();
  body.centre = {0.01, 0.005};
  const cylinder::Solution exact = solution(body);
  const bool is_wave = std::holds_alternative<cylinder::PlaneWave>(GetParam().source);
  const double k = materials::two_pi * mics / materials::speed_of_light;
  const double phi = 1.2;
  const cylinder::FarField far = far_field_at(exact, phi);
  const auto error_at = [&](double r) {
    const geometry::Point p = polar_point(r, phi);
    const Complex psi = is_wave ? exact.scattered_at(p).z : exact.at(p).z;
    return std::abs(psi * std::sqrt(r) * std::polar(1.0, k * r) / far.amplitude - 1.0);
  };
  EXPECT_NEAR(error_at(1e3) / error_at(1e4), 10.0, 0.1);
  EXPECT_LT(error_at(1e5), 1e-5);
}

// R_ab = R_ba for every pair of places and directions: E(b).P_b of the source a is
// E(a).P_a of b, H(b) K_b of a is H(a) K_a of b; and E_b.P of a magnetic line a is -H_a K
// of the dipole b (J. A. Kong, *Electromagnetic Wave Theory*, sec. on reciprocity, from
// memory).
TEST(Reciprocity, HoldsBetweenAnyTwoMedia)
{
  const cylinder::Body body = round_trunk();
  const std::array places{polar_point(0.006, 0.4), polar_point(0.03, 2.5),
                          polar_point(0.072, -1.0), polar_point(0.0825, 4.0),
                          polar_point(0.2, 1.0)};
  const auto along = [](const cylinder::Field& field, double direction) {
    return field.x * std::cos(direction) + field.y * std::sin(direction);
  };
  for (std::size_t i = 0; i < places.size(); ++i) {
    for (std::size_t n = i + 1; n < places.size(); ++n) {
      const geometry::Point a = places.at(i);
      const geometry::Point b = places.at(n);
      for (const Polarisation mode : {Polarisation::tmz, Polarisation::tez}) {
        const cylinder::Solution from_a(body, mode, mics, cylinder::LineSource{a});
        const cylinder::Solution from_b(body, mode, mics, cylinder::LineSource{b});
        EXPECT_LT(relative_difference(from_a.at(b).z, from_b.at(a).z), 1e-14);
      }
      const cylinder::Solution dipole_a(body, Polarisation::tez, mics,
                                        cylinder::Dipole{a, 0.3});
      const cylinder::Solution dipole_b(body, Polarisation::tez, mics,
                                        cylinder::Dipole{b, 1.9});
      const cylinder::Solution line_a(body, Polarisation::tez, mics,
                                      cylinder::LineSource{a});
      EXPECT_LT(
          relative_difference(along(dipole_a.at(b), 1.9), along(dipole_b.at(a), 0.3)),
          1e-13);
      EXPECT_LT(relative_difference(along(line_a.at(b), 1.9), -dipole_b.at(a).z), 1e-13);
    }
  }
}

// Two opposite magnetic lines side by side are in the limit an electric dipole across
// their distance: with Hz of a line of 1 V at r', a moment (Px, Py) at r' has Hz = (Px
// d/dy' - Py d/dx') Hz_line/(-j w eps0 eps_s), whatever lies between. Central differences
// over the place of the source.
TEST(Dipole, IsTheDerivativeOfTheMagneticLine)
{
  const cylinder::Body body = round_trunk();
  const double direction = 1.1;
  const double h = 1e-6;
  for (const double rho : {0.006, 0.03, 0.072, 0.12}) {
    const geometry::Point at = polar_point(rho, 0.4);
    std::size_t m = 0;
    while (m < body.layers.size() && rho > body.layers[m].outer_radius) {
      ++m;
    }
    const Complex eps_r = m < body.layers.size() ? body.layers[m].eps_r : 1.0;
    // P x grad' = d/ds along (-Py, Px)
    const auto line = [&](double s) {
      return cylinder::Solution(body, Polarisation::tez, mics,
                                cylinder::LineSource{{at.x - s * std::sin(direction),
                                                      at.y + s * std::cos(direction)}});
    };
    const cylinder::Solution ahead = line(h);
    const cylinder::Solution behind = line(-h);
    const cylinder::Solution dipole(body, Polarisation::tez, mics,
                                    cylinder::Dipole{at, direction});
    const Complex scale = Complex(0.0, -materials::two_pi * mics) *
                          materials::vacuum_permittivity * eps_r * 2.0 * h;
    for (const double r : {0.004, 0.05, 0.3}) {
      const geometry::Point p = polar_point(r, 2.0);
      const cylinder::Field a = ahead.at(p);
      const cylinder::Field b = behind.at(p);
      EXPECT_LT(field_difference(dipole.at(p), {(a.z - b.z) / scale, (a.x - b.x) / scale,
                                                (a.y - b.y) / scale, 0.0}),
                1e-7)
          << rho << ' ' << r;
    }
  }
}

// Layers of the medium around them, off centre, leave the closed forms: H_0 for lines and
// Hz = (j k/4) H_1(k R)(Py cos - Px sin) for the dipole.
TEST(OneMedium, CylindersOfTheSameMediumAreNotSeen)
{
  const Complex eps = lossy(57.0, 0.8, mics);
  const cylinder::Body layered{
      {{0.02, eps}, {0.05, eps}, {0.07, eps}}, eps, 0.0, {0.01, -0.02}};
  const geometry::Point place{0.04, 0.01};
  const std::array<Scene, 3> sources{
      Scene{"electric", Polarisation::tmz, cylinder::LineSource{place}},
      {"magnetic", Polarisation::tez, cylinder::LineSource{place}},
      {"dipole", Polarisation::tez, cylinder::Dipole{place, 1.1}}};
  for (const Scene& scene : sources) {
    const cylinder::Solution body(layered, scene.polarisation, mics, scene.source);
    const cylinder::Solution closed(only(eps), scene.polarisation, mics, scene.source);
    for (const geometry::Point p : {geometry::Point{0.01, -0.02},
                                    {0.015, -0.01},
                                    {0.045, 0.01},
                                    {0.07, -0.03},
                                    {0.2, 0.3}}) {
      EXPECT_LT(field_difference(body.at(p), closed.at(p)), 1e-15) << scene.name;
    }
  }
}

// E -> H, H -> -E, J -> M, eps <-> mu. In one medium all of it holds: a TEz magnetic line
// is a TMz electric line times (w eps)/(w mu). Around a perfect conductor the wall
// differs (psi = 0 or dpsi/drho = 0), which the limits of the thin conductor tell apart;
// between media duality would need magnetic ones.
TEST(Duality, TurnsLinesIntoEachOtherInOneMedium)
{
  const Complex eps = lossy(57.0, 0.8, mics);
  const cylinder::Solution electric(only(eps), Polarisation::tmz, mics,
                                    cylinder::LineSource{});
  const cylinder::Solution magnetic(only(eps), Polarisation::tez, mics,
                                    cylinder::LineSource{});
  const Complex admittance_squared =
      eps * materials::vacuum_permittivity / materials::vacuum_permeability;
  const geometry::Point p{0.03, 0.02};
  const cylinder::Field e = electric.at(p);
  EXPECT_LT(field_difference(magnetic.at(p), {admittance_squared * e.z, -e.x, -e.y, 0.0}),
            1e-14);
}

// Image theory: next to a conductor of such a radius that it is flat, an electric line
// has its image of opposite sign, a magnetic line one of the same sign. The curvature
// adds of the order of height/radius, so that the difference falls tenfold with a tenth
// of it.
TEST(Conductor, ActsAsAMirrorWhereItIsFlat)
{
  const double height = 0.1;
  const auto difference = [&](Polarisation mode, double radius, double sign) {
    const cylinder::Body body{{}, 1.0, radius, {0.0, -radius}};
    const cylinder::Solution exact(body, mode, mics, cylinder::LineSource{{0.0, height}});
    const cylinder::Solution line(only(1.0), mode, mics,
                                  cylinder::LineSource{{0.0, height}});
    const cylinder::Solution image(only(1.0), mode, mics,
                                   cylinder::LineSource{{0.0, -height}});
    const geometry::Point p{0.07, 0.05};
    return relative_difference(exact.at(p).z, line.at(p).z + sign * image.at(p).z);
  };
  for (const auto& [mode, sign] :
       {std::pair{Polarisation::tmz, -1.0}, std::pair{Polarisation::tez, 1.0}}) {
    EXPECT_LT(difference(mode, 10.0, sign), 0.03);
    EXPECT_NEAR(difference(mode, 2.0, sign) / difference(mode, 10.0, sign), 5.0, 0.75);
  }
}

TEST(Solution, ReturnsZeroWhereSymmetryAsksForIt)
{
  const cylinder::Body body = round_trunk();
  const cylinder::Solution dipole(body, Polarisation::tez, mics, cylinder::Dipole{});
  const cylinder::Field on_its_axis = dipole.at({0.05, 0.0});
  EXPECT_EQ(on_its_axis.z, 0.0);
  EXPECT_EQ(on_its_axis.y, 0.0);
  EXPECT_NE(on_its_axis.x, 0.0);
  EXPECT_EQ(dipole.far_field(std::array{0.0}).front().intensity, 0.0);
  const cylinder::Solution cored({{{0.02, 2.0}}, 1.0, 0.01}, Polarisation::tez, mics,
                                 cylinder::PlaneWave{});
  EXPECT_EQ(cored.at({0.004, 0.0}).z, 0.0);
}

TEST(Solution, SaysWhenASumHasNoEnd)
{
  const cylinder::Solution touching({{{0.1, 57.0}}}, Polarisation::tmz, mics,
                                    cylinder::LineSource{{0.1 - 1e-9, 0.0}});
  EXPECT_THROW((void)touching.at({0.1 - 1e-9, 1e-3}), cylinder::AccuracyNotAttained);
  EXPECT_LT(touching.at({0.2, 0.1}).relative_error, cylinder::certified_error);
}

TEST(Solution, RejectsWhatItCannotSolve)
{
  using Bad = std::invalid_argument;
  const auto solve = [](const cylinder::Body& body, Polarisation mode,
                        const cylinder::Source& source, double frequency = mics) {
    return cylinder::Solution(body, mode, frequency, source);
  };
  const cylinder::LineSource centre{};
  const Polarisation tm = Polarisation::tmz;
  EXPECT_THROW(solve({{{0.1, 2.0}, {0.1, 3.0}}}, tm, centre), Bad);
  EXPECT_THROW(solve({{{0.1, 2.0}}, 1.0, 0.1}, tm, cylinder::PlaneWave{}), Bad);
  EXPECT_THROW(solve({{{0.1, {2.0, 0.1}}}}, tm, centre), Bad);
  EXPECT_THROW(solve({{{0.1, 0.0}}}, tm, centre), Bad);
  EXPECT_THROW(solve(only({1.0, 0.1}), tm, centre), Bad);
  EXPECT_THROW(solve({{{0.1, 2.0}}}, tm, cylinder::LineSource{{0.1, 0.0}}), Bad);
  EXPECT_THROW(solve({{}, 1.0, 0.1}, tm, centre), Bad);
  EXPECT_THROW(solve(only(1.0), tm, cylinder::Dipole{}), Bad);
  EXPECT_THROW(solve(only(1.0), tm, centre, 0.0), Bad);
  const cylinder::Solution in_tissue =
      solve({{{0.1, 2.0}}, lossy(57.0, 0.8, mics)}, tm, centre);
  EXPECT_THROW((void)in_tissue.far_field(std::array{0.0}), std::domain_error);
  EXPECT_THROW((void)in_tissue.at({0.0, 0.0}), Bad);
  EXPECT_THROW((void)in_tissue.scattered_at({0.2, 0.0}), Bad);
  EXPECT_THROW((void)in_tissue.power_through(0.0), Bad);
}

}  // namespace
}  // namespace torsowave::reference
