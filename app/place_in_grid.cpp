#include "app/place_in_grid.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "app/implant_gain.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

/// Cells between the absorber and what lies in front of it, one after the other: the
/// contour that radiated power is counted on; with a plane wave the rim of the total
/// field and, inside it, the contour that absorbed power enters through.
constexpr int radiation_gap = 2;
constexpr int total_field_gap = 6;
constexpr int inflow_gap = 8;

[[nodiscard]] std::string size_key(const RunPlan& plan)
{
  return plan.scenario.grid.size ? "grid.size" : "grid.margin";
}

void check_room(const RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const int margin =
      plan.grid.absorbing_cells + (plan.scenario.incident ? inflow_gap : radiation_gap);
  const int narrow = plan.one_d() ? raster.nx : std::min(raster.nx, raster.ny);
  if (2 * margin + 3 >= narrow) {
    refuse_key(
        plan.scenario, size_key(plan),
        fmt::format("{} x {} cells leave no room inside the absorbing layer of {} cells; "
                    "write a larger domain",
                    raster.nx, raster.ny, plan.grid.absorbing_cells));
  }
}

/// The two ends of a stretch of the row.
[[nodiscard]] geometry::Contour ends_of(const geometry::Raster& raster, int first,
                                        int last)
{
  geometry::Contour contour;
  contour.inside.assign(raster.size(), 0);
  std::fill(contour.inside.begin() + first, contour.inside.begin() + last + 1, 1);
  contour.edges = {{first, 0, -1, 0}, {last, 0, 1, 0}};
  return contour;
}

void place_in_row(RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const int absorber = plan.grid.absorbing_cells;
  const auto inside = [&](int gap) { return absorber + gap; };
  const auto mirrored = [&](int gap) { return raster.nx - 1 - absorber - gap; };
  plan.stack = scenarios::layer_stack(plan.scenario.body);
  plan.extent = std::max(0.5 * (plan.stack->last_face - plan.stack->first_face), 0.01);
  plan.radiation = ends_of(raster, inside(radiation_gap), mirrored(radiation_gap));
  if (!plan.scenario.incident) {
    return;
  }
  const bool from_left = plan.scenario.incident->angle == 0.0;
  if (from_left) {
    plan.total_field = {inside(total_field_gap), raster.nx - 1, 0, 0};
    plan.inflow = ends_of(raster, inside(inflow_gap), mirrored(radiation_gap));
  } else {
    plan.total_field = {0, mirrored(total_field_gap), 0, 0};
    plan.inflow = ends_of(raster, inside(radiation_gap), mirrored(inflow_gap));
  }
  const double first = (plan.stack->first_face - raster.corner.x) / raster.cell;
  const double last = (plan.stack->last_face - raster.corner.x) / raster.cell;
  const double room = from_left ? first : raster.nx - last;
  const double needed = absorber + inflow_gap + 2;
  if (room < needed) {
    refuse_key(plan.scenario, size_key(plan),
               fmt::format("leaves {:.0f} cells between the face that the wave meets and "
                           "the absorber, and {} are needed; write {:.3g} mm more",
                           std::max(0.0, room - absorber), inflow_gap + 2,
                           (needed - room) * raster.cell * 1e3));
  }
}

void place_around_body(RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const int absorber = plan.grid.absorbing_cells;
  plan.radiation = geometry::rectangle_contour(raster, absorber + radiation_gap);
  plan.body = geometry::find_body(plan.map);
  plan.extent = std::sqrt(plan.body->area / std::numbers::pi);
  const int clearance = plan.body->clearance;
  if (plan.scenario.incident) {
    const int rim = absorber + total_field_gap;
    plan.total_field = {rim, raster.nx - 1 - rim, rim, raster.ny - 1 - rim};
    plan.inflow = geometry::rectangle_contour(raster, absorber + inflow_gap);
    if (clearance <= absorber + inflow_gap + 1) {
      refuse_key(
          plan.scenario, size_key(plan),
          fmt::format("leaves {} cells between the body and the absorber; a plane "
                      "wave needs at least {}; write {:.3g} mm more",
                      std::max(0, clearance - absorber), inflow_gap + 2,
                      (absorber + inflow_gap + 2 - clearance) * raster.cell * 1e3));
    }
  }
  if (clearance > absorber + radiation_gap + 1) {
    plan.surface = geometry::body_surface(plan.map, *plan.body);
  }
}

void check_implant(const RunPlan& plan)
{
  const std::size_t at = plan.grid.raster.at(plan.source_i, plan.source_j);
  if (plan.radiation.inside[at] == 0) {
    refuse_key(plan.scenario, "implant.position",
               "lies in the absorbing layer; move it inwards or enlarge the domain");
  }
  for (const geometry::Share& share : plan.map.palette[plan.map.cells[at]]) {
    if (materials::is_conductor(plan.tissues[share.tissue])) {
      refuse_key(plan.scenario, "implant.position",
                 "a source in a perfect conductor radiates nothing; move it out or give "
                 "it a capsule");
    }
  }
}

void place_probes(RunPlan& plan)
{
  const geometry::Raster& raster = plan.grid.raster;
  const std::vector<scenarios::ProbeSpec>& probes = plan.scenario.outputs.probes;
  for (std::size_t p = 0; p < probes.size(); ++p) {
    const double i = std::floor((probes[p].position.x - raster.corner.x) / raster.cell);
    const double j = std::floor((probes[p].position.y - raster.corner.y) / raster.cell);
    if (i < 0.0 || j < 0.0 || i >= raster.nx || j >= raster.ny) {
      refuse_key(plan.scenario, fmt::format("outputs.probes[{}].position", p),
                 fmt::format("lies outside the domain; move it inside or enlarge {}",
                             size_key(plan)));
    }
    plan.probe_cells.push_back({static_cast<int>(i), static_cast<int>(j)});
  }
}

}  // namespace

void refuse_key(const scenarios::Scenario& scenario, const std::string& key,
                const std::string& problem)
{
  throw scenarios::InputError({{scenario.where(key), key, problem}});
}

const materials::Tissue& tissue_named(const scenarios::Scenario& scenario,
                                      const std::string& name)
{
  for (const materials::Tissue& tissue : scenario.materials.custom) {
    if (tissue.name == name) {
      return tissue;
    }
  }
  return *materials::find_tissue(name);  // the reader has checked every name
}

void place_all(RunPlan& plan)
{
  check_room(plan);
  if (plan.one_d()) {
    place_in_row(plan);
  } else {
    place_around_body(plan);
  }
  if (plan.scenario.implant) {
    check_implant(plan);
  }
  place_probes(plan);
  if (plan.scenario.locations.contains("link")) {
    if (const auto problem = reader_problem(plan)) {
      refuse_key(plan.scenario, "link.reader.distance", *problem);
    }
  }
}

}  // namespace torsowave::app
