#include "postproc/uncertainty.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

TEST(Uncertainty, ItemsAreAddedAndTissueDataStandsApart)
{
  const CombinedUncertainty all =
      combined_uncertainty({{"fit", 0.03}, {"grid", 0.04}, {"tissue_data", 2.0}});
  EXPECT_DOUBLE_EQ(all.db, 0.07);
  EXPECT_EQ(all.dominant, "grid");
  EXPECT_EQ(combined_uncertainty({}).db, 0.0);
  EXPECT_EQ(combined_uncertainty({}).dominant, "");
}

// P(h) = 5 + 3 h^p, at h = 1 and at the ratio.
TEST(Uncertainty, RichardsonFindsTheLimitOfAPower)
{
  for (const double order : {1.0, 1.5, 2.0}) {
    for (const double ratio : {0.5, 2.0 / 3.0, 0.9}) {
      const double fine = 5.0 + 3.0 * std::pow(ratio, order);
      EXPECT_NEAR(richardson_limit(8.0, fine, ratio, order), 5.0, 1e-13);
    }
  }
}

// The term of fourth order that P(h) = 1 + 0.1 h^2 + 0.02 h^4 has as well leaves
// 0.02 r^2/(1 - r^2) ((1 - r^4) - (1 - r^2))... = -0.02 r^2 of the limit (derived here).
TEST(Uncertainty, RichardsonLeavesTheNextOrder)
{
  const auto power = [](double h) { return 1.0 + 0.1 * h * h + 0.02 * std::pow(h, 4); };
  constexpr double ratio = 0.5;
  EXPECT_NEAR(richardson_limit(power(1.0), power(ratio), ratio, 2.0),
              1.0 - 0.02 * ratio * ratio, 1e-14);
}

TEST(Uncertainty, RichardsonRefusesARatioOrOrderWithoutSense)
{
  for (const double ratio : {0.0, 1.0, 1.5, -0.5}) {
    EXPECT_THROW((void)richardson_limit(1.0, 1.0, ratio, 2.0), std::invalid_argument);
  }
  EXPECT_THROW((void)richardson_limit(1.0, 1.0, 0.5, 0.0), std::invalid_argument);
}

TEST(Uncertainty, ErrorInDecibels)
{
  EXPECT_NEAR(error_db(1.0, 10.0), 10.0, 1e-12);
  EXPECT_NEAR(error_db(10.0, 1.0), 10.0, 1e-12);
  EXPECT_NEAR(error_db(-2.0, -1.0), 10.0 * std::log10(2.0), 1e-12);
  EXPECT_NEAR(error_db(1.0, -1.0), 10.0 * std::log10(3.0), 1e-12);  // the sign changes
  EXPECT_EQ(error_db(0.0, 0.0), 0.0);
  EXPECT_EQ(error_db(0.0, 1.0), std::numeric_limits<double>::infinity());
}

FrequencyResult result_of(double h)
{
  FrequencyResult at;
  at.frequency = 915e6;
  at.source_power = 10.0 + h * h;
  at.absorbed_power = 9.0 + 2.0 * h * h;
  at.radiated_power = 1.0 + 0.1 * h * h;
  at.body_surface_power = 1.0 + 0.2 * h * h;
  at.sector_power = {0.5 + 0.1 * h * h, -0.2, 0.0};
  at.uncertainty_db = {{"fit", 0.01}, {"grid", 7.0}};
  return at;
}

constexpr Refinement half{.cell = 0.5e-3, .ratio = 0.5, .order = 2.0};

double db(double ratio)
{
  return 10.0 * std::log10(ratio);
}

TEST(Uncertainty, ASecondCellSizeGivesTheErrorOfEveryPower)
{
  std::vector<FrequencyResult> run{result_of(1.0)};
  add_refinement(run, {result_of(0.5)}, half, {});
  const FrequencyResult& at = run.front();
  EXPECT_NEAR(at.grid_error_db.at("source"), db(1.1), 1e-12);
  EXPECT_NEAR(at.grid_error_db.at("absorbed"), db(11.0 / 9.0), 1e-12);
  EXPECT_NEAR(at.grid_error_db.at("radiated"), db(1.1), 1e-12);
  EXPECT_NEAR(at.grid_error_db.at("body_surface"), db(1.2), 1e-12);
  ASSERT_EQ(at.sector_grid_error_db.size(), 3U);
  EXPECT_NEAR(at.sector_grid_error_db[0], db(1.2), 1e-12);
  EXPECT_EQ(at.sector_grid_error_db[1], 0.0);
  EXPECT_EQ(at.sector_grid_error_db[2], 0.0);
  EXPECT_EQ(at.uncertainty_db.at("grid"), at.grid_error_db.at("radiated"));
  EXPECT_EQ(at.uncertainty_db.at("fit"), 0.01);
}

TEST(Uncertainty, ThePowerDeliveredKeepsALargerEstimate)
{
  std::vector<FrequencyResult> run{result_of(1.0)};
  run.front().grid_error_db["source"] = 3.0;
  add_refinement(run, {result_of(0.5)}, half, {});
  EXPECT_EQ(run.front().grid_error_db.at("source"), 3.0);
}

TEST(Uncertainty, ForAPlaneWaveTheLargerErrorCounts)
{
  std::vector<FrequencyResult> run{result_of(1.0)};
  add_refinement(run, {result_of(0.5)}, half, {.closed = true, .plane_wave = true});
  EXPECT_NEAR(run.front().uncertainty_db.at("grid"), db(11.0 / 9.0), 1e-12);
}

TEST(Uncertainty, WhereLossesGoOnPowersAreNotCompared)
{
  std::vector<FrequencyResult> run{result_of(1.0)};
  add_refinement(run, {result_of(0.5)}, half, {.closed = false});
  EXPECT_EQ(run.front().grid_error_db.count("absorbed"), 0U);
  EXPECT_EQ(run.front().grid_error_db.count("radiated"), 0U);
  EXPECT_EQ(run.front().grid_error_db.count("source"), 1U);
  EXPECT_EQ(run.front().uncertainty_db.at("grid"), 7.0);
}

TEST(Uncertainty, LayersKeepTheirOwnErrorBesideThatOfASecondCellSize)
{
  const auto with_layers = [](double h) {
    FrequencyResult at = result_of(h);
    at.slab.emplace();
    at.slab->reflectance = 0.5 + 0.05 * h * h;
    at.slab->absorbed_by_layer = {0.2, 0.1 + 0.01 * h * h};
    at.slab->fit_error = {0.1, {}, {}, {}, {0.2, 0.3}};
    at.slab->grid_error = {1.0, {}, {}, {}, {2.0, 3.0}};
    return at;
  };
  std::vector<FrequencyResult> run{with_layers(1.0)};
  run.front().uncertainty_db["left_in_grid"] = 0.01;
  run.front().uncertainty_db["tissue_data"] = 5.0;
  add_refinement(run, {with_layers(0.5)}, half, {});
  EXPECT_EQ(run.front().uncertainty_db.at("grid"), 7.0);
  const LayerErrors& refined = run.front().slab->refinement_error.value();
  EXPECT_NEAR(refined.reflectance.value(), db(1.1), 1e-12);
  EXPECT_FALSE(refined.transmittance);
  EXPECT_NEAR(refined.absorbed_by_layer.at(1), db(1.1), 1e-12);

  const LayerErrors all = combined_layer_errors(run.front());
  EXPECT_NEAR(all.reflectance.value(), 0.1 + 1.0 + 0.01, 1e-12);
  EXPECT_FALSE(all.into_first);
  EXPECT_NEAR(all.absorbed_by_layer.at(0), 0.2 + 2.0 + 0.01, 1e-12);
}

TEST(Uncertainty, RunsWithDifferentFiguresAreRefused)
{
  std::vector<FrequencyResult> run{result_of(1.0)};
  EXPECT_THROW(add_refinement(run, {}, half, {}), std::invalid_argument);
  FrequencyResult other = result_of(0.5);
  other.sector_power.pop_back();
  EXPECT_THROW(add_refinement(run, {other}, half, {}), std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::postproc
