// Coverage by reciprocity against direct runs, which know nothing of it: a source in the
// cell, its far field by the contour in the air. H. A. Lorentz's theorem holds on the
// grid exactly, so that what is left is rounding and what either run leaves in the grid.

#include "app/link_coverage.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <set>
#include <string>

#include "postproc/link_budget.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"
#include "solver/wave_direction.hpp"

namespace torsowave::app {
namespace {

constexpr double degree = std::numbers::pi / 180.0;

RunPlan slice(const std::string& mode, const std::string& implant)
{
  return plan_run(scenarios::parse_scenario(
      fmt::format(
          "title: four tissues\nmode: {}\n"
          "grid: {{cell: 4 mm, margin: 42 mm, absorbing_cells: 8, precision: double}}\n"
          "body:\n  shapes:\n"
          "    - {{tissue: fat_not_infiltrated, ellipse: {{center: [3 mm, -2 mm], "
          "semi_axes: [34 mm, 25 "
          "mm], rotation: 20 deg}}}}\n"
          "    - {{tissue: skin_dry, shell: {{thickness: 6 mm}}}}\n"
          "    - {{tissue: muscle, circle: {{center: [8 mm, 1 mm], radius: 15 mm}}}}\n"
          "    - {{tissue: bone_cortical, circle: {{center: [-14 mm, -7 mm], radius: 10 "
          "mm}}}}\n"
          "implant: {}\n"
          "waveform: {{type: pulse, center: 800 MHz, bandwidth: 1.2 GHz}}\n"
          "frequencies: [700 MHz, 915 MHz]\nduration: {{decay: 85 dB}}\n",
          mode, implant),
      "case.yaml"));
}

RunPlan slice(const std::string& mode)
{
  return slice(mode, mode == "TMz"
                         ? "{position: [8 mm, 1 mm], source: line_current, capsule: "
                           "{radius: 3 mm, material: air}}"
                         : "{position: [8 mm, 1 mm], source: dipole, direction: 30 deg, "
                           "capsule: {radius: 3 mm, material: air}}");
}

CoverageRequest request_of(const PlaceCounts& checks)
{
  // 0 deg is a direction of the grid, 130 deg is not.
  return {{0.0, 130.0 * degree},
          [](double frequency, double) { return frequency < 8e8 ? 30.0 : 40.0; },
          "implant to reader",
          checks};
}

double largest_difference(const LinkCoverage& coverage,
                          const std::vector<CoverageCheck>& checks, bool at_interfaces)
{
  double largest = 0.0;
  for (const CoverageCheck& check : checks) {
    if (coverage.places[check.place].interface == at_interfaces) {
      largest = std::max(largest, std::abs(check.difference_db()));
    }
  }
  return largest;
}

TEST(LinkCoverage, IsThatOfDirectRunsAlongZ)
{
  const RunPlan plan = slice("TMz");
  const LinkCoverage coverage = cover(plan, request_of({6, 4}), {});
  const auto checks = check_coverage(coverage, plan, {});
  ASSERT_EQ(checks.size(), 10U * 2U * 2U);
  std::set<std::string> tissues;
  for (const CheckPlace& place : coverage.places) {
    tissues.insert(place.tissue);
  }
  EXPECT_EQ(tissues.size(), 4U);
  RecordProperty("inside_db",
                 fmt::format("{:.2e}", largest_difference(coverage, checks, false)));
  RecordProperty("at_interfaces_db",
                 fmt::format("{:.2e}", largest_difference(coverage, checks, true)));
  EXPECT_LT(largest_difference(coverage, checks, false), 1e-4);
  EXPECT_LT(largest_difference(coverage, checks, true), 1e-4);
}

TEST(LinkCoverage, IsThatOfDirectRunsInThePlane)
{
  const RunPlan plan = slice("TEz");
  const LinkCoverage coverage = cover(plan, request_of({10, 0}), {});
  const auto checks = check_coverage(coverage, plan, {});
  ASSERT_EQ(checks.size(), 10U * 2U * 2U);
  RecordProperty("inside_db",
                 fmt::format("{:.2e}", largest_difference(coverage, checks, false)));
  EXPECT_LT(largest_difference(coverage, checks, false), 1e-4);
}

/// A body of air: the gain of a short dipole is 1.5 sin^2 of the angle from its axis (C.
/// A. Balanis, *Antenna Theory*, ch. 4, from memory).
LinkCoverage in_air(const std::string& mode, const std::string& source)
{
  return cover(
      plan_run(scenarios::parse_scenario(
          fmt::format("mode: {}\ngrid: {{cell: 2.5 mm, margin: 30 mm, precision: "
                      "double}}\nbody:\n  shapes:\n    - {{tissue: nothing, circle: "
                      "{{center: [0 mm, 0 mm], radius: 10 mm}}}}\nmaterials: {{custom: "
                      "{{nothing: {{permittivity: 1, conductivity: 0 S/m, density: 1 "
                      "kg/m3}}}}}}\nimplant: {{position: [0 mm, 0 mm], {}, capsule: "
                      "{{radius: 3 mm, material: air}}}}\nwaveform: {{type: pulse, "
                      "center: 2.45 GHz, bandwidth: 1.5 GHz}}\nfrequencies: [2.45 "
                      "GHz]\nduration: {{decay: 80 dB}}\n",
                      mode, source),
          "air.yaml")),
      request_of({}), {});
}

double largest_off(const std::vector<float>& gain, double dbi)
{
  double largest = 0.0;
  int count = 0;
  for (const float value : gain) {
    if (!std::isnan(value)) {
      largest = std::max(largest, std::abs(static_cast<double>(value) - dbi));
      ++count;
    }
  }
  EXPECT_GT(count, 40);
  return largest;
}

TEST(LinkCoverage, IsTheTextbooksGainInAir)
{
  const double textbook = 10.0 * std::log10(1.5);
  const LinkCoverage along_z = in_air("TMz", "source: line_current");
  const LinkCoverage across = in_air("TEz", "source: dipole, direction: 30 deg");
  for (std::size_t d = 0; d < 2; ++d) {
    EXPECT_LT(largest_off(along_z.result.maps[d].gain_dbi, textbook), 0.02);
    EXPECT_LT(largest_off(across.result.maps[d].best_gain_dbi, textbook), 0.02);
    const double angle = across.result.directions[d].angle_deg - 30.0;
    EXPECT_LT(
        largest_off(across.result.maps[d].gain_dbi,
                    textbook + 20.0 * std::log10(std::abs(std::sin(angle * degree)))),
        0.01);
  }
}

TEST(LinkCoverage, IsOfTheGridsOwnDirections)
{
  const LinkCoverage coverage = in_air("TMz", "source: line_current");
  EXPECT_EQ(coverage.result.directions[0].angle_deg, 0.0);
  const double asked = coverage.result.directions[1].asked_deg;
  const double used = coverage.result.directions[1].angle_deg;
  EXPECT_NEAR(asked, 130.0, 1e-9);
  EXPECT_LT(std::abs(used - asked), 0.1);
  double nearest_whole = 1.0;  // of the slope times a whole number up to the largest one
  for (int x = 1; x <= solver::DirectionLimits{}.largest; ++x) {
    const double y = x * std::tan(used * degree);
    nearest_whole = std::min(nearest_whole, std::abs(y - std::round(y)));
  }
  EXPECT_LT(nearest_whole, 1e-10);
}

/// A square of 6 x 6 cells of 1 mm, the lower half of one tissue and the upper of
/// another, margin 10 - 4 n dB in the n-th ring of cells from the outside, and no place
/// in a cell.
TEST(CoverageFigures, CountWhereTheLinkCloses)
{
  geometry::TissueMap map;
  map.raster = {14, 14, 1e-3, {0.0, 0.0}};
  map.tissues = {"air", "low", "high"};
  map.palette = {{{0, 256}}, {{1, 256}}, {{2, 256}}};
  map.cells.assign(map.raster.size(), 0);
  std::vector<float> margin(map.raster.size(), std::nanf(""));
  for (int j = 4; j < 10; ++j) {
    for (int i = 4; i < 10; ++i) {
      const int ring = std::min({i - 4, 9 - i, j - 4, 9 - j});
      map.cells[map.raster.at(i, j)] = j < 7 ? 1 : 2;
      margin[map.raster.at(i, j)] = 10.0F - 8.0F * static_cast<float>(ring);
    }
  }
  map.labels = map.cells;
  margin[map.raster.at(4, 4)] = std::nanf("");
  const geometry::Contour surface = geometry::body_surface(map, geometry::find_body(map));
  const postproc::CoverageFigures figures =
      postproc::coverage_figures(map, surface, margin);
  EXPECT_NEAR(figures.area, 35e-6, 1e-12);
  EXPECT_NEAR(figures.closed, 31e-6, 1e-12);  // all but the innermost four
  ASSERT_EQ(figures.tissues.size(), 2U);
  EXPECT_EQ(figures.tissues[0].tissue, "low");
  EXPECT_NEAR(figures.tissues[0].area, 17e-6, 1e-12);
  EXPECT_NEAR(figures.tissues[1].closed, 16e-6, 1e-12);
  ASSERT_TRUE(figures.deepest && figures.best && figures.worst);
  EXPECT_NEAR(figures.deepest->depth, 1.5e-3, 0.2e-3);  // the second ring's middle
  EXPECT_EQ(figures.deepest->margin_db, 2.0);
  EXPECT_EQ(figures.best->margin_db, 10.0);
  EXPECT_EQ(figures.worst->margin_db, -6.0);
  EXPECT_NEAR(figures.worst->depth, 2.5e-3, 0.2e-3);
}

TEST(CoverageOfDipoles, TurnsThemToTheMajorAxis)
{
  const std::complex<double> j(0.0, 1.0);
  // E = 3 along 40 deg and 1 j across it: an ellipse with that major axis.
  const double c = std::cos(40.0 * degree);
  const double s = std::sin(40.0 * degree);
  const postproc::PlaneField e{3.0 * c - 1.0 * j * s, 3.0 * s + 1.0 * j * c};
  EXPECT_NEAR(postproc::best_dipole_direction(e), 40.0 * degree, 1e-12);
  EXPECT_NEAR(postproc::dipole_coupling(e, 40.0 * degree), 9.0, 1e-12);
  EXPECT_NEAR(postproc::dipole_coupling(e, 130.0 * degree), 1.0, 1e-12);
}

/// What the map leans on: the margin is that of 0 dBi plus the gain, both ways.
TEST(CoverageMargin, RisesWithTheGainDbByDb)
{
  postproc::LinkInput input;
  input.path.frequency = 915e6;
  input.path.distance = 2.0;
  input.signal.data_rate = 1e5;
  input.signal.bandwidth = 3e5;
  for (const auto way : {postproc::LinkDirection::implant_to_reader,
                         postproc::LinkDirection::reader_to_implant}) {
    input.implant.gain_dbi = 0.0;
    const double at_0_dbi = postproc::link_budget(input, way).faded.margin_db;
    input.implant.gain_dbi = -37.25;
    EXPECT_NEAR(postproc::link_budget(input, way).faded.margin_db, at_0_dbi - 37.25,
                1e-10);
  }
}

std::string refusal(const std::string& mode, const std::string& implant)
{
  try {
    static_cast<void>(cover(slice(mode, implant), request_of({}), {}));
  } catch (const scenarios::InputError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(LinkCoverage, RefusesWhatHasNoGain)
{
  EXPECT_NE(
      refusal("TMz", "{position: [8 mm, 1 mm], source: line_current}")
          .find(
              "case.yaml:10:10: implant.capsule: a short dipole in a medium with losses"),
      std::string::npos);
  EXPECT_NE(refusal("TEz", "{position: [8 mm, 1 mm], source: magnetic_line}")
                .find("implant.source: a magnetic line has no gain"),
            std::string::npos);
  EXPECT_NE(
      refusal("TMz",
              "{position: [8 mm, 1 mm], source: line_current, capsule: {radius: 3 "
              "mm, material: muscle}}")
          .find("implant.capsule: the capsule is filled with muscle, of loss tangent"),
      std::string::npos);
}

}  // namespace
}  // namespace torsowave::app
