#include "app/path_model.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "geometry/paint_stack.hpp"
#include "geometry/straight_path.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] std::size_t number_of(const RunPlan& plan, const std::string& tissue)
{
  const auto found = std::ranges::find(plan.tissues, tissue, &materials::Tissue::name);
  if (found == plan.tissues.end()) {
    throw std::logic_error("the plan lacks " + tissue);
  }
  return static_cast<std::size_t>(found - plan.tissues.begin());
}

[[nodiscard]] bool is_conductor(const RunPlan& plan, std::size_t tissue)
{
  return materials::is_conductor(plan.tissues[tissue]);
}

[[nodiscard]] PathStack stack_of_layers(const RunPlan& plan)
{
  const scenarios::LayerStack& layers = *plan.stack;
  PathStack stack;
  stack.tissues.push_back(number_of(plan, layers.first));
  for (const scenarios::Slab& slab : layers.slabs) {
    stack.tissues.push_back(number_of(plan, slab.tissue));
    stack.thickness.push_back(slab.to - slab.from);
  }
  stack.tissues.push_back(number_of(plan, layers.last));
  const geometry::Raster& raster = plan.grid.raster;
  if (plan.scenario.implant) {
    stack.sheet = raster.x(plan.source_i) - layers.first_face;
    stack.edge = raster.corner.x - layers.first_face;
  } else if (plan.scenario.incident->angle == 0.0) {
    stack.edge = raster.corner.x - layers.first_face;
  } else {
    std::ranges::reverse(stack.tissues);
    std::ranges::reverse(stack.thickness);
    stack.edge = layers.last_face - raster.corner.x;
  }
  return stack;
}

/// Adds pieces as layers, without conductors.
void append(const RunPlan& plan, const std::vector<geometry::PathPiece>& pieces,
            PathStack& stack)
{
  for (const geometry::PathPiece& piece : pieces) {
    if (!is_conductor(plan, piece.tissue)) {
      stack.tissues.push_back(piece.tissue);
      stack.thickness.push_back(piece.length);
    }
  }
}

/// The body along a line through `through` in direction (c, s), between backgrounds.
[[nodiscard]] PathStack body_along(const RunPlan& plan, const geometry::PaintStack& paint,
                                   geometry::Point through, double c, double s)
{
  const geometry::Raster& raster = plan.grid.raster;
  const double reach = std::hypot(raster.nx, raster.ny) * raster.cell;
  const auto pieces = geometry::without_outside(geometry::cut_line(
      paint, {through.x - reach * c, through.y - reach * s},
      {through.x + reach * c, through.y + reach * s}, raster.cell / 8.0));
  PathStack stack;
  stack.tissues.push_back(0);
  append(plan, pieces, stack);
  stack.tissues.push_back(0);
  return stack;
}

[[nodiscard]] std::optional<PathStack> stack_of_implant(const RunPlan& plan,
                                                        const geometry::PaintStack& paint)
{
  const geometry::Raster& raster = plan.grid.raster;
  const geometry::Point at{raster.x(plan.source_i), raster.y(plan.source_j)};
  PathStack stack;
  if (plan.body->cells[raster.at(plan.source_i, plan.source_j)] == 0) {
    const geometry::Point near = geometry::nearest_of_body(raster, *plan.body, at);
    const double distance = std::hypot(near.x - at.x, near.y - at.y);
    stack = body_along(plan, paint, near, (near.x - at.x) / distance,
                       (near.y - at.y) / distance);
    stack.kind = PathKind::outside;
    stack.sheet = -distance;
  } else {
    const auto pieces = geometry::shortest_way_out(paint, raster, *plan.body, at);
    if (!pieces) {
      return std::nullopt;
    }
    stack.kind = PathKind::way_out;
    append(plan, *pieces, stack);
    stack.tissues.insert(stack.tissues.begin(),
                         stack.tissues.empty() ? 0 : stack.tissues.front());
    stack.tissues.push_back(0);
    stack.sheet = 0.0;
  }
  stack.edge = *stack.sheet - 0.5 * raster.cell;
  return stack;
}

}  // namespace

double PathStack::depth() const
{
  return std::accumulate(thickness.begin(), thickness.end(), 0.0);
}

std::optional<PathStack> path_stack(const RunPlan& plan)
{
  if (plan.one_d()) {
    return stack_of_layers(plan);
  }
  const geometry::PaintStack paint(plan.scenario.body.background,
                                   plan.scenario.body.shapes, {});
  if (plan.scenario.implant) {
    return stack_of_implant(plan, paint);
  }
  const double angle = plan.scenario.incident->angle;
  PathStack stack =
      body_along(plan, paint, plan.body->centroid, std::cos(angle), std::sin(angle));
  stack.kind = PathKind::shadow;
  return stack;
}

}  // namespace torsowave::app
