// What `torsowave compare` says of its two demo scenarios and of others, by full wave.
//
// Planar layers have four answers: exact with Cole-Cole media, exact with the fitted
// Debye media, exact on the grid (its own difference equations, solver/grid_layers.hpp),
// and the run. The third stands on no time-stepping, no absorber and no Fourier sum.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "app/compare_model.hpp"
#include "app/run_scenario.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::reference {
namespace {

using postproc::CompareResult;
using postproc::Difference;

constexpr double one_millionth_db = 4.343e-6;  // of a power: 10 log10(1 + 1e-6)

postproc::CompareResult compared(const scenarios::Scenario& given)
{
  const scenarios::Scenario scenario = app::scenario_to_compare(given);
  const app::RunPlan plan = app::plan_run(scenario);
  app::RunOptions options;
  options.threads = 1;
  const postproc::Result run = app::run_in_memory(plan, options);
  return plan.one_d() ? app::compare_layers(plan, run)
                      : app::compare_cylinders(plan, app::concentric_body(scenario), run);
}

scenarios::Scenario demo(const std::string& name)
{
  return scenarios::read_scenario(std::filesystem::path(TORSOWAVE_SCENARIOS) / name);
}

/// Every sample of every quantity that counts.
std::vector<Difference> all_that_count(const CompareResult& result)
{
  std::vector<Difference> all;
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    for (std::size_t s = 0; s < samples(result.quantities[q]); ++s) {
      Difference d = difference_at(result, q, s);
      if (d.counts) {
        all.push_back(std::move(d));
      }
    }
  }
  return all;
}

/// Largest |part| of a set [dB].
double largest_part(const std::vector<Difference>& all, std::size_t part)
{
  double largest = 0.0;
  for (const Difference& d : all) {
    largest = std::max(largest, std::abs(d.parts_db.at(part)));
  }
  return largest;
}

// Skin 2 mm, fat 10 mm, muscle without end, 0.3 to 6 GHz in one pulse at 0.25 mm. The run
// against the fitted Debye media: 0.0248 dB at most (absorbed in skin, 5.9 GHz); against
// the grid's own answer 1.5e-8 dB at most. With grid.dispersion: plain 0.0337
// dB. Measured with 12 absorbing cells in the place of 24: 1.8e-5 dB at 300 MHz, which
// the absorber sends back.
TEST(CompareLayers, DemoMeetsTheDebyeCurveAndTheGridsOwnAnswer)
{
  const CompareResult result = compared(demo("skin-fat-muscle.yaml"));
  ASSERT_EQ(result.frequencies.front(), 0.3e9);
  ASSERT_EQ(result.frequencies.back(), 6e9);
  ASSERT_EQ(result.quantities.size(), 4U);  // reflected, two layers, into muscle
  const std::vector<Difference> all = all_that_count(result);
  EXPECT_EQ(all.size(), 4 * result.frequencies.size());  // all above -40 dB
  for (const Difference& d : all) {
    EXPECT_LE(std::abs(d.parts_db[1] + d.parts_db[2]), 0.05);
    EXPECT_LE(std::abs(d.parts_db[2]), one_millionth_db);
    if (d.phase_deg) {
      EXPECT_LE(std::abs(d.phase_parts[2]), 1e-6 * 180.0 / 3.14159265);
    }
    EXPECT_NEAR(d.parts_db[0] + d.parts_db[1] + d.parts_db[2], d.total_db, 1e-12);
  }
  RecordProperty("grid_db", testing::PrintToString(largest_part(all, 1)));
  RecordProperty("rest_db", testing::PrintToString(largest_part(all, 2)));
  const auto verdict = largest_difference(result);
  ASSERT_TRUE(verdict);
  EXPECT_EQ(result.parts[verdict->cause()], "fit");
}

// Second order: what the grid changes at 2 GHz falls fourfold with half the cell. Faces
// stay on edges between cells. Measured: order 2.0.
TEST(CompareLayers, GridErrorIsOfSecondOrder)
{
  std::vector<double> errors;
  for (const double cell : {0.5e-3, 0.25e-3}) {
    scenarios::Scenario scenario = demo("skin-fat-muscle.yaml");
    scenario.frequencies = {2e9};
    scenario.grid.cell = cell;
    errors.push_back(largest_part(all_that_count(compared(scenario)), 1));
  }
  RecordProperty("order", testing::PrintToString(std::log2(errors[0] / errors[1])));
  EXPECT_NEAR(std::log2(errors[0] / errors[1]), 2.0, 0.2);
}

/// A change of the demo; whatever it is, the run meets the grid's own answer.
struct Variant {
  const char* name;
  void (*change)(scenarios::Scenario&);
};

class CompareVariants : public testing::TestWithParam<Variant> {};

TEST_P(CompareVariants, RunMeetsTheGridsOwnAnswer)
{
  scenarios::Scenario scenario = demo("skin-fat-muscle.yaml");
  GetParam().change(scenario);
  const std::vector<Difference> all = all_that_count(compared(scenario));
  EXPECT_GE(all.size(), 3 * scenario.frequencies.size());
  RecordProperty("rest_db", testing::PrintToString(largest_part(all, 2)));
  EXPECT_LE(largest_part(all, 2), one_millionth_db);
}

void sheet_at(scenarios::Scenario& scenario, double x)
{
  scenario.incident.reset();
  scenario.implant.emplace();
  scenario.implant->source = scenarios::SourceKind::current_sheet;
  scenario.implant->position = {x, 0.0};
}

INSTANTIATE_TEST_SUITE_P(
    Layers, CompareVariants,
    testing::Values(
        Variant{"SheetInFat", [](scenarios::Scenario& s) { sheet_at(s, 7e-3); }},
        Variant{"SheetInTheHalfSpace",
                [](scenarios::Scenario& s) { sheet_at(s, 25e-3); }},
        Variant{"WaveFromMuscle",
                [](scenarios::Scenario& s) { s.incident->angle = 3.14159265358979; }},
        Variant{"FacesInsideCells",
                [](scenarios::Scenario& s) { s.body.layers[0].thickness = 2.1e-3; }},
        Variant{"NoCorrectionOfDispersion",
                [](scenarios::Scenario& s) { s.grid.correct_dispersion = false; }}),
    [](const auto& variant) { return std::string(variant.param.name); });

// Muscle, fat and skin about one axis, line current off it, 20 cells in the shortest
// wavelength. The field outside, all 72 angles: 0.134 dB off the series of the tissues'
// own media, 0.154 dB off that of the fitted ones; radiated 0.0012 and 0.0137 dB.
TEST(CompareCylinders, DemoMeetsTheSeries)
{
  const CompareResult result = compared(demo("muscle-cylinder.yaml"));
  EXPECT_EQ(result.quantities.front().key, "Ez");
  EXPECT_EQ(result.angles_deg.size(), 72U);
  const auto field = largest_difference(result, 0);
  ASSERT_TRUE(field);
  EXPECT_LE(std::abs(field->total_db), 0.2);
  const auto radiated =
      std::ranges::find(result.quantities, "radiated", &postproc::ComparedQuantity::key);
  ASSERT_NE(radiated, result.quantities.end());
  const auto q = static_cast<std::size_t>(radiated - result.quantities.begin());
  EXPECT_LE(std::abs(largest_difference(result, q)->total_db), 0.02);
  RecordProperty("field_db", testing::PrintToString(field->total_db));
  EXPECT_EQ(result.quantities.size(), 6U);  // delivered, radiated, three tissues beside
}

// The same body under a plane wave: the field 0.052 dB, scattered power 0.004 dB,
// absorbed in muscle 0.056 dB.
TEST(CompareCylinders, PlaneWaveMeetsTheSeries)
{
  scenarios::Scenario scenario = demo("muscle-cylinder.yaml");
  scenario.implant.reset();
  scenario.incident = scenarios::IncidentSpec{0.0};
  const CompareResult result = compared(scenario);
  const auto verdict = largest_difference(result);
  ASSERT_TRUE(verdict);
  RecordProperty("worst_db", testing::PrintToString(verdict->total_db));
  EXPECT_LE(std::abs(verdict->total_db), 0.2);
}

}  // namespace
}  // namespace torsowave::reference
