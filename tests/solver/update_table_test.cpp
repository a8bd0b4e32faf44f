// Runs cover the grid once, and coefficients are those of the equations.

#include "solver/update_table.hpp"

#include <algorithm>
#include <random>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"

namespace torsowave::solver {
namespace {

using kernels::RunKind;

scenes::Scene random_scene(int poles, unsigned seed)
{
  MediumEntry metal = scenes::air(poles);
  metal.conductor = true;
  scenes::Scene scene = scenes::uniform(
      97, 40, 0, scenes::times(poles),
      {scenes::air(poles), scenes::wet(poles), scenes::fatty(poles), metal});
  std::mt19937 engine(seed);
  // Stretches of every length, single cells among them, row by row.
  for (std::size_t p = 0; p < scene.medium.cells.size();) {
    const auto entry = static_cast<std::uint16_t>(engine() % 4);
    std::size_t length = 1 + engine() % (engine() % 2 == 0 ? 3 : 40);
    for (; length > 0 && p < scene.medium.cells.size(); --length, ++p) {
      scene.medium.cells[p] = entry;
    }
  }
  return scene;
}

template <class Real>
std::vector<kernels::CellCoefficients<Real>> coefficients_of(const scenes::Scene& scene)
{
  return update_coefficients<Real>(scene.grid, scene.medium.palette,
                                   scene.medium.relaxation_times);
}

void expect_run(const RunTable<double>& table,
                const std::vector<kernels::CellCoefficients<double>>& palette,
                const scenes::Scene& scene, int j, const kernels::Run& run)
{
  for (int i = run.begin; i < run.end; ++i) {
    const std::uint16_t index = scene.medium.cells[scene.grid.raster.at(i, j)];
    if (run.kind != RunKind::mixed) {
      ASSERT_EQ(run.at, index);
      ASSERT_EQ(run.kind == RunKind::uniform, scene.entry(i, j).has_poles());
      continue;
    }
    const auto at = static_cast<std::size_t>(run.at + i - run.begin);
    ASSERT_EQ(table.mixed_curl.at(at), palette[index].curl);
    ASSERT_EQ(table.mixed_loss.at(at), palette[index].loss);
    for (std::size_t k = 0; k < table.mixed_pole.size(); ++k) {
      ASSERT_EQ(table.mixed_pole[k].at(at), palette[index].pole[k]);
    }
  }
}

TEST(RunTable, CoversEachRowOnceWithTheRightMedium)
{
  for (const int poles : {0, 1, 4}) {
    const scenes::Scene scene = random_scene(poles, 7U + static_cast<unsigned>(poles));
    const auto palette = coefficients_of<double>(scene);
    const RunTable<double> table = run_table<double>(
        scene.medium.cells, scene.grid.raster.nx, scene.medium.palette, palette);
    ASSERT_EQ(table.row_runs.size(), 41U);
    ASSERT_EQ(table.row_runs.front(), 0);
    ASSERT_EQ(static_cast<std::size_t>(table.row_runs.back()), table.runs.size());
    for (int j = 0; j < 40; ++j) {
      const auto row = static_cast<std::size_t>(j);
      int reached = 0;
      for (int r = table.row_runs[row]; r < table.row_runs[row + 1]; ++r) {
        const kernels::Run& run = table.runs[static_cast<std::size_t>(r)];
        ASSERT_EQ(run.begin, reached) << j;
        ASSERT_GT(run.end, run.begin) << j;
        expect_run(table, palette, scene, j, run);
        reached = run.end;
      }
      ASSERT_EQ(reached, 97) << j;
    }
  }
}

TEST(RunTable, TakesUpToTwoVectorsOfATissueIntoTheMixedRunsAroundThem)
{
  scenes::Scene scene = scenes::uniform(
      176, 1, 0, scenes::times(2), {scenes::air(2), scenes::wet(2), scenes::fatty(2)});
  const auto fill = [&](int begin, int end, std::uint16_t entry) {
    std::fill(scene.medium.cells.begin() + begin, scene.medium.cells.begin() + end,
              entry);
  };
  // Wet from end to end, but for a few cells in the first, fourth, eighth and last vector
  // of 16; two vectors of air before the last.
  fill(0, 176, 1);
  fill(3, 9, 2);
  fill(50, 52, 2);
  fill(112, 113, 2);
  fill(128, 160, 0);
  fill(170, 171, 2);
  const auto palette = coefficients_of<double>(scene);
  const RunTable<double> table =
      run_table<double>(scene.medium.cells, 176, scene.medium.palette, palette);
  struct Expected {
    int begin;
    int end;
    RunKind kind;
  };
  const std::vector<Expected> expected{{0, 64, RunKind::mixed},
                                       {64, 112, RunKind::uniform},
                                       {112, 128, RunKind::mixed},
                                       {128, 160, RunKind::plain},
                                       {160, 176, RunKind::mixed}};
  ASSERT_EQ(table.runs.size(), expected.size());
  for (std::size_t r = 0; r < expected.size(); ++r) {
    EXPECT_EQ(table.runs[r].begin, expected[r].begin) << r;
    EXPECT_EQ(table.runs[r].end, expected[r].end) << r;
    EXPECT_EQ(table.runs[r].kind, expected[r].kind) << r;
    expect_run(table, palette, scene, 0, table.runs[r]);
  }
}

TEST(UpdateCoefficients, AreThoseOfTheBilinearUpdate)
{
  const scenes::Scene scene = random_scene(3, 1);
  const double dt = scene.grid.time_step;
  const auto palette = coefficients_of<double>(scene);
  for (std::size_t m = 0; m < 3; ++m) {
    const MediumEntry& entry = scene.medium.palette[m];
    double s = entry.conductivity * dt / (2.0 * materials::vacuum_permittivity);
    for (std::size_t k = 0; k < 3; ++k) {
      const double tau = scene.medium.relaxation_times[k];
      s += entry.strengths[k] * dt / (2.0 * tau + dt);
    }
    const double n = entry.eps_inf + s;
    // c dt/dx = 0.99/sqrt(2).
    EXPECT_NEAR(palette[m].curl, 0.5 * 0.99 * 0.99 / n, 1e-15) << m;
    EXPECT_NEAR(1.0 - palette[m].loss, (entry.eps_inf - s) / n, 1e-15) << m;
    for (std::size_t k = 0; k < 3; ++k) {
      const double tau = scene.medium.relaxation_times[k];
      const double a = (2.0 * tau - dt) / (2.0 * tau + dt);
      EXPECT_NEAR(palette[m].pole[k], entry.strengths[k] * (1.0 - a) / n, 1e-15);
      EXPECT_NEAR(pole_gain(tau, dt), 0.5 * (1.0 - a), 1e-15);
    }
  }
}

TEST(UpdateCoefficients, AConductorHoldsNoField)
{
  const scenes::Scene scene = random_scene(2, 1);
  const kernels::CellCoefficients<float> metal = coefficients_of<float>(scene)[3];
  EXPECT_EQ(metal.curl, 0.0F);
  EXPECT_EQ(metal.loss, 1.0F);
  EXPECT_EQ(metal.pole[0], 0.0F);
  EXPECT_EQ(metal.pole[1], 0.0F);
}

}  // namespace
}  // namespace torsowave::solver
