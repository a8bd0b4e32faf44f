#include "app/refinement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/clock_text.hpp"

namespace torsowave::app {

RunPlan plan_refined(const RunPlan& plan, double ratio)
{
  scenarios::Scenario scenario = plan.scenario;
  scenario.grid.cell = plan.grid.raster.cell * ratio;
  scenario.grid.cells_per_wavelength.reset();
  scenario.outputs.snapshots.reset();
  scenario.outputs.phasors.clear();
  scenario.outputs.probes.clear();
  scenario.outputs.images.reset();
  return plan_run(scenario);
}

double convergence_order(const RunPlan& plan)
{
  const bool averaged = plan.scenario.grid.averaging == geometry::Averaging::volume;
  return averaged && !plan.is_tez() ? 2.0 : 1.0;
}

bool losses_end_inside(const RunPlan& plan)
{
  const auto lossless = [&](const geometry::ContourEdge& edge) {
    const geometry::Raster& raster = plan.grid.raster;
    return std::ranges::all_of(
        plan.map.palette[plan.map.cells[raster.at(edge.i, edge.j)]],
        [&](const geometry::Share& share) {
          const materials::FittedMedium& medium = plan.fitted.media[share.tissue];
          return medium.conductor ||
                 (medium.conductivity == 0.0 &&
                  std::ranges::all_of(medium.strengths,
                                      [](double strength) { return strength == 0.0; }));
        });
  };
  return std::ranges::all_of(plan.radiation.edges, lossless);
}

std::string refinement_text(const RunPlan& plan, const RunPlan& refined,
                            double wall_seconds)
{
  const auto work = [](const RunPlan& of) {
    return static_cast<double>(of.grid.raster.size()) / of.grid.time_step;
  };
  const double times = work(refined) / work(plan);
  return fmt::format(
      "second run, for the grid error: cells of {:.4g} mm instead of {:.4g} mm, {:.3g} "
      "times the work, about {}\n",
      refined.grid.raster.cell * 1e3, plan.grid.raster.cell * 1e3, times,
      clock_text(times * wall_seconds));
}

}  // namespace torsowave::app
