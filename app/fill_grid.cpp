#include "app/fill_grid.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "solver/grid_dispersion.hpp"

namespace torsowave::app {
namespace {

using scenarios::Scenario;

[[nodiscard]] std::vector<geometry::Shape> capsules_of(const Scenario& scenario)
{
  if (!scenario.implant || !scenario.implant->capsule) {
    return {};
  }
  const scenarios::Capsule& capsule = *scenario.implant->capsule;
  return {
      {capsule.material, geometry::Circle{scenario.implant->position, capsule.radius}}};
}

/// Whether a medium with losses lies in the absorber or within a cell of it: there, the
/// averaged stencil is not the absorber's.
[[nodiscard]] bool losses_meet_absorber(const RunPlan& plan)
{
  std::vector<std::uint8_t> lossy;
  for (const geometry::Mixture& mixture : plan.map.palette) {
    lossy.push_back(std::ranges::any_of(mixture, [&](const geometry::Share& share) {
      return has_losses(plan.fitted.media[share.tissue]);
    }));
  }
  const geometry::Raster& raster = plan.grid.raster;
  const int depth = plan.grid.absorbing_cells + 1;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const bool inside = std::min({i, j, raster.nx - 1 - i, raster.ny - 1 - j}) >= depth;
      if (!inside && lossy[plan.map.cells[raster.at(i, j)]] != 0) {
        return true;
      }
    }
  }
  return false;
}

void correct_dispersion(RunPlan& plan)
{
  plan.stepped = plan.fitted;
  if (!plan.scenario.grid.correct_dispersion) {
    return;
  }
  if (plan.one_d()) {
    plan.stencil = solver::Stencil::row;
  } else if (plan.is_tez() && !losses_meet_absorber(plan)) {
    plan.stencil = solver::Stencil::averaged;
  }
  plan.stepped = solver::correct_for_grid(
      plan.fitted, {plan.grid.raster.cell, plan.grid.time_step, plan.band_from,
                    plan.band_to, plan.scenario.frequencies, plan.stencil});
}

/// |eps| of each tissue in the middle of the band: what makes an interface strong.
[[nodiscard]] std::vector<double> contrasts(const RunPlan& plan)
{
  std::vector<double> result;
  const double frequency = std::sqrt(plan.band_from * plan.band_to);
  for (const materials::FittedMedium& medium : plan.fitted.media) {
    constexpr double conductor = 1e4;
    result.push_back(medium.conductor
                         ? conductor
                         : std::abs(relative_permittivity(
                               medium, plan.fitted.relaxation_times, frequency)));
  }
  return result;
}

/// Cuts the slice into cells.
void cut(RunPlan& plan)
{
  const Scenario& scenario = plan.scenario;
  const geometry::Raster& raster = plan.grid.raster;
  plan.map = geometry::voxelise(raster, scenario.body.background, shapes_of(scenario),
                                capsules_of(scenario), scenario.grid.averaging);
  if (scenario.implant) {
    const auto index = [&](double at, double low) {
      return static_cast<int>(std::lround((at - low) / raster.cell - 0.5));
    };
    plan.source_i = index(scenario.implant->position.x, raster.corner.x);
    plan.source_j = index(scenario.implant->position.y, raster.corner.y);
  }
}

/// TEz: cuts it into edges and nodes, and fills them.
void fill_edges(RunPlan& plan)
{
  const Scenario& scenario = plan.scenario;
  const geometry::StaggeredMap staggered = geometry::cut_staggered(
      plan.grid.raster, scenario.body.background, shapes_of(scenario),
      capsules_of(scenario), scenario.grid.averaging, contrasts(plan));
  const bool dipole =
      scenario.implant && scenario.implant->source == scenarios::SourceKind::dipole;
  plan.tez = solver::build_tez_medium(
      staggered, plan.stepped,
      {plan.grid.absorbing_cells, plan.grid.time_step, plan.band_from, plan.band_to,
       scenario.frequencies, dipole ? plan.source_i : -1, dipole ? plan.source_j : -1,
       plan.stencil == solver::Stencil::averaged});
}

}  // namespace

std::vector<geometry::Shape> shapes_of(const Scenario& scenario)
{
  if (scenario.mode != scenarios::Mode::one_d) {
    return scenario.body.shapes;
  }
  constexpr double far = 1e3;  // beyond any domain [m]
  const scenarios::LayerStack stack = scenarios::layer_stack(scenario.body);
  const auto slab = [](const std::string& tissue, double from, double to) {
    return geometry::Shape{tissue, geometry::Rectangle{{from, -far}, {to, far}}};
  };
  std::vector<geometry::Shape> shapes{slab(stack.first, -far, stack.first_face)};
  for (const scenarios::Slab& one : stack.slabs) {
    shapes.push_back(slab(one.tissue, one.from, one.to));
  }
  shapes.push_back(slab(stack.last, stack.last_face, far));
  return shapes;
}

void fill_grid(RunPlan& plan)
{
  cut(plan);
  correct_dispersion(plan);
  if (plan.is_tez()) {
    fill_edges(plan);
  }
}

}  // namespace torsowave::app
