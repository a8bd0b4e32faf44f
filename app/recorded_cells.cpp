#include "app/recorded_cells.hpp"

#include <algorithm>
#include <vector>

#include "geometry/sectors.hpp"

namespace torsowave::app {
namespace {

/// E beside a cell of a TEz run takes its neighbours' Hz.
constexpr int margin = 3;
/// The same beside the places where sectors look for flow along the skin.
constexpr int skin_margin = geometry::sector_reach + 1;

[[nodiscard]] bool absorbs(const materials::FittedMedium& medium)
{
  return !medium.conductor && (medium.conductivity > 0.0 ||
                               std::ranges::any_of(medium.strengths, [](double strength) {
                                 return strength > 0.0;
                               }));
}

/// By entry of the map's palette.
[[nodiscard]] std::vector<bool> absorbing_mixtures(const RunPlan& plan)
{
  std::vector<bool> result;
  for (const geometry::Mixture& mixture : plan.map.palette) {
    result.push_back(std::ranges::any_of(mixture, [&](const geometry::Share& share) {
      return absorbs(plan.stepped.media[share.tissue]);
    }));
  }
  return result;
}

[[nodiscard]] bool wants_fields(const RunPlan& plan)
{
  return !stored_phasors(plan.scenario).empty() || wants_sar_map(plan.scenario);
}

void include(solver::CellBox& box, int i, int j)
{
  box = {std::min(box.first_i, i), std::max(box.last_i, i), std::min(box.first_j, j),
         std::max(box.last_j, j)};
}

[[nodiscard]] solver::CellBox grown(const solver::CellBox& box, int cells)
{
  return {box.first_i - cells, box.last_i + cells, box.first_j - cells,
          box.last_j + cells};
}

}  // namespace

bool wants_sar_map(const scenarios::Scenario& scenario)
{
  const auto& images = scenario.outputs.images;
  return images && std::ranges::count(images->quantities, "sar") > 0;
}

solver::CellBox recorded_cells(const RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const solver::CellBox whole{0, raster.nx - 1, 0, raster.ny - 1};
  if (plan.one_d() || plan.period_steps > 0 || wants_fields(plan)) {
    return whole;
  }
  const std::vector<bool> absorbing = absorbing_mixtures(plan);
  solver::CellBox box{raster.nx, -1, raster.ny, -1};
  solver::CellBox skin = box;
  if (plan.scenario.implant) {
    include(box, plan.source_i, plan.source_j);
  }
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (absorbing[plan.map.cells[raster.at(i, j)]]) {
        include(box, i, j);
      }
      if (plan.surface && plan.body->cells[raster.at(i, j)] != 0) {
        include(skin, i, j);
      }
    }
  }
  if (box.last_i < 0) {
    return whole;  // a plane wave on something that absorbs nothing
  }
  box = grown(box, margin);
  if (skin.last_i >= 0) {
    skin = grown(skin, skin_margin);
    include(box, skin.first_i, skin.first_j);
    include(box, skin.last_i, skin.last_j);
  }
  return {std::max(box.first_i, whole.first_i), std::min(box.last_i, whole.last_i),
          std::max(box.first_j, whole.first_j), std::min(box.last_j, whole.last_j)};
}

}  // namespace torsowave::app
