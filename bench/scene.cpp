#include "bench/scene.hpp"

#include <algorithm>
#include <utility>

#include "app/run_plan.hpp"

namespace torsowave::bench {
namespace {

using scenarios::Mode;
using scenarios::Scenario;

constexpr double width = 0.3584;  ///< of the domain [m]

void set_poles(Scenario& scenario, int poles)
{
  scenario.materials.fit_poles = std::max(1, poles);
  scenario.materials.fit_max_error = 1.0;
}

[[nodiscard]] Scene scene_of(app::RunPlan plan)
{
  Scene scene;
  scene.grid = plan.grid;
  scene.absorber = plan.absorber;
  scene.source_i = plan.source_i;
  scene.source_j = plan.source_j;
  scene.current = plan.waveform.current;
  scene.interval = plan.interval;
  if (plan.tez) {
    scene.tez = std::move(plan.tez);
  } else {
    scene.medium =
        solver::build_medium(plan.map, plan.stepped, plan.grid.absorbing_cells);
  }
  return scene;
}

}  // namespace

Scene demo_scene(const Scenario& demo, Mode mode, GridSize size, int poles)
{
  Scenario scenario = demo;
  const double cell = width / size.nx;
  scenario.mode = mode;
  scenario.grid.cell = cell;
  scenario.grid.cells_per_wavelength.reset();
  scenario.grid.margin.reset();
  scenario.grid.size = {width, cell * size.ny};
  // 17 mm of air on either side of the body, and 12 cells at the sizes that count.
  scenario.grid.absorbing_cells = std::clamp(size.nx / 42, 1, 12);
  scenario.grid.allow_coarse = true;
  scenario.outputs = {};
  if (mode == Mode::tez) {
    scenario.implant->source = scenarios::SourceKind::magnetic_line;
  }
  set_poles(scenario, poles);
  Scene scene = scene_of(app::plan_run(scenario));
  if (poles == 0) {
    scene.medium.relaxation_times.clear();
    scene.medium.palette = {solver::MediumEntry{}};
    std::ranges::fill(scene.medium.cells, 0);
  }
  return scene;
}

Scene layer_scene(const Scenario& layers, int cells)
{
  Scenario scenario = layers;
  scenario.grid.cell = (*scenario.grid.size)[0] / cells;
  scenario.outputs = {};
  set_poles(scenario, 3);
  Scene scene = scene_of(app::plan_run(scenario));
  scene.source_i = cells / 4;  // in the air before the layers
  return scene;
}

}  // namespace torsowave::bench
