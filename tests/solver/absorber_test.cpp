// The graded profile of the absorber. How well it absorbs: tests/published/absorber_*.

#include "solver/absorber.hpp"

#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/scenes.hpp"

namespace torsowave::solver {
namespace {

constexpr double cell = 1e-3;
const double dt = stable_time_step(cell, 0.99);

TEST(AbsorberProfile, LeavesTheInteriorAlone)
{
  const AbsorberSpec spec;
  const int n = 50;
  const AbsorberProfile profile = absorber_profile(spec, n, cell, dt, 1.0, 1.0);
  ASSERT_EQ(profile.at_cells.b.size(), 50U);
  ASSERT_EQ(profile.at_edges.b.size(), 51U);
  for (int p = 0; p < n; ++p) {
    const auto at = static_cast<std::size_t>(p);
    const bool inside = p >= spec.cells && p < n - spec.cells;
    EXPECT_EQ(profile.at_cells.c[at] == 0.0, inside) << p;
    EXPECT_EQ(profile.at_cells.inverse_kappa[at] == 1.0, inside || spec.kappa_max == 1.0)
        << p;
  }
  // The inner faces are edges 12 and 38: the layer begins beyond them.
  for (int e = spec.cells; e <= n - spec.cells; ++e) {
    EXPECT_EQ(profile.at_edges.c[static_cast<std::size_t>(e)], 0.0) << e;
    EXPECT_EQ(profile.at_edges.b[static_cast<std::size_t>(e)], 0.0) << e;
  }
  EXPECT_NE(profile.at_edges.c[11], 0.0);
  EXPECT_NE(profile.at_edges.c[39], 0.0);
}

TEST(AbsorberProfile, IsTheSameFromBothSidesToTheLastBit)
{
  const AbsorberProfile profile = absorber_profile({}, 41, cell, dt, 3.0, 3.0);
  for (const AbsorberProfile::Line* line : {&profile.at_cells, &profile.at_edges}) {
    for (std::size_t p = 0; p < line->b.size(); ++p) {
      const std::size_t image = line->b.size() - 1 - p;
      EXPECT_EQ(line->b[p], line->b[image]) << p;
      EXPECT_EQ(line->c[p], line->c[image]) << p;
      EXPECT_EQ(line->inverse_kappa[p], line->inverse_kappa[image]) << p;
    }
  }
}

TEST(AbsorberProfile, EndsAtTheTextbooksConductivity)
{
  // sigma_opt = (m + 1)/(150 pi dx sqrt(eps_r)): J. A. Roden, S. D. Gedney, Microw. Opt.
  // Technol. Lett. 27 (2000) 334-339 (formula from memory). 0.8/eta0 and 1/(150 pi)
  // differ by 0.07 %.
  AbsorberSpec spec;
  spec.sigma_factor = 1.0;
  const double eps_low = 9.0;
  const double eps_high = 40.0;
  const AbsorberProfile profile = absorber_profile(spec, 50, cell, dt, eps_low, eps_high);
  const auto sigma = [&](std::size_t e) {
    // At the wall alpha is 0: b = exp(-(sigma/kappa) dt/eps0), c = (b - 1)/kappa.
    const double kappa = 1.0 / profile.at_edges.inverse_kappa[e];
    EXPECT_NEAR(kappa, spec.kappa_max, 1e-12);
    EXPECT_NEAR(profile.at_edges.c[e], (profile.at_edges.b[e] - 1.0) / kappa, 1e-14);
    return -std::log(profile.at_edges.b[e]) * kappa * materials::vacuum_permittivity / dt;
  };
  const auto published = [&](double eps) {
    return (spec.order + 1.0) / (150.0 * std::numbers::pi * cell * std::sqrt(eps));
  };
  EXPECT_NEAR(sigma(0) / published(eps_low), 1.0, 1e-3);
  EXPECT_NEAR(sigma(50) / published(eps_high), 1.0, 1e-3);
}

TEST(AbsorberAlong, IsMatchedToTheFastestMediumOfEachSide)
{
  MediumEntry metal = scenes::air(1);
  metal.conductor = true;
  scenes::Scene scene =
      scenes::uniform(50, 40, 12, scenes::times(1),
                      {scenes::wet(1), scenes::fatty(1), scenes::air(1), metal});
  // Wet below and left, fat in half of the right side, air in one cell of the upper one.
  for (int j = 20; j < 40; ++j) {
    scene.cell(49, j) = 1;
  }
  scene.cell(17, 39) = 2;
  scene.cell(17, 0) = 3;
  const double wet = 6.0 + 38.0;
  const double fat = 2.9 + 2.1;
  const double step = scene.grid.time_step;
  const AbsorberProfile x = absorber_along_x(scene.absorber, scene.grid, scene.medium);
  const AbsorberProfile y = absorber_along_y(scene.absorber, scene.grid, scene.medium);
  const AbsorberProfile along_x =
      absorber_profile(scene.absorber, 50, cell, step, wet, fat);
  const AbsorberProfile along_y =
      absorber_profile(scene.absorber, 40, cell, step, wet, 1.0);
  for (std::size_t e = 0; e <= 50; ++e) {
    EXPECT_NEAR(x.at_edges.b[e], along_x.at_edges.b[e], 1e-14) << e;
  }
  for (std::size_t e = 0; e <= 40; ++e) {
    EXPECT_NEAR(y.at_edges.b[e], along_y.at_edges.b[e], 1e-14) << e;
  }
}

}  // namespace
}  // namespace torsowave::solver
