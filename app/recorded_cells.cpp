#include "app/recorded_cells.hpp"

#include <algorithm>
#include <vector>

namespace torsowave::app {
namespace {

/// E beside a cell of a TEz run takes its neighbours' Hz.
constexpr int margin = 3;

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
  if (plan.scenario.implant) {
    include(box, plan.source_i, plan.source_j);
  }
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (absorbing[plan.map.cells[raster.at(i, j)]]) {
        include(box, i, j);
      }
    }
  }
  if (box.last_i < 0) {
    return whole;  // a plane wave on something that absorbs nothing
  }
  return {std::max(box.first_i - margin, whole.first_i),
          std::min(box.last_i + margin, whole.last_i),
          std::max(box.first_j - margin, whole.first_j),
          std::min(box.last_j + margin, whole.last_j)};
}

}  // namespace torsowave::app
