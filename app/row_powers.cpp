#include "app/row_powers.hpp"

#include <cmath>

namespace torsowave::app {
namespace {

constexpr double on_edge = 1e-9;  ///< faces this near to an edge lie on it [cells]

/// Place of a face in cells.
[[nodiscard]] double column_of(const RunPlan& plan, double face)
{
  const geometry::Raster& raster = plan.grid.raster;
  return (face - raster.corner.x) / raster.cell;
}

}  // namespace

std::vector<double> heat_by_layer(const RunPlan& plan, const RowPowers& row)
{
  std::vector<double> heat;
  for (const scenarios::Slab& slab : plan.stack->slabs) {
    heat.push_back(row.heat(slab.tissue, slab.from, slab.to));
  }
  return heat;
}

double into_first(const RunPlan& plan, const RowPowers& row, double delivered)
{
  const scenarios::LayerStack& stack = *plan.stack;
  const int edge =
      static_cast<int>(std::floor(column_of(plan, stack.first_face) + on_edge));
  const double at = plan.grid.raster.x_of(edge);
  const bool beyond = plan.scenario.implant && plan.scenario.implant->position.x < at;
  return -row.flux(edge) + row.heat(stack.first, at, stack.first_face) +
         (beyond ? delivered : 0.0);
}

double into_last(const RunPlan& plan, const RowPowers& row, double delivered)
{
  const scenarios::LayerStack& stack = *plan.stack;
  const int edge =
      static_cast<int>(std::ceil(column_of(plan, stack.last_face) - on_edge));
  const double at = plan.grid.raster.x_of(edge);
  const bool beyond = plan.scenario.implant && plan.scenario.implant->position.x > at;
  return row.flux(edge) + row.heat(stack.last, stack.last_face, at) +
         (beyond ? delivered : 0.0);
}

}  // namespace torsowave::app
