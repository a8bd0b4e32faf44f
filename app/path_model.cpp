#include "app/path_model.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <utility>

#include "geometry/paint_stack.hpp"
#include "geometry/straight_path.hpp"
#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/grid_layers.hpp"
#include "solver/layered_medium.hpp"
#include "solver/medium.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;

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
  const auto pieces = geometry::without_outside(
      geometry::cut_line(paint, {through.x - reach * c, through.y - reach * s},
                         {through.x + reach * c, through.y + reach * s},
                         raster.cell / 8.0));
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

/// The cells that hold anything but a half-space, and the sheet.
struct Stretch {
  double from = 0.0;  ///< x of edge 0 [m]
  std::size_t cells = 0;
};

[[nodiscard]] Stretch stretch_of(const PathStack& stack, double cell)
{
  const auto edge_before = [&](double x) {
    return stack.edge + std::floor((x - stack.edge) / cell + 1e-9) * cell;
  };
  const double sheet = stack.sheet.value_or(0.0);
  const double from = edge_before(std::min(0.0, sheet));
  const double to = std::max(stack.depth(), stack.sheet ? sheet + 0.5 * cell : 0.0);
  const double cells = std::max(1.0, std::ceil((to - from) / cell - 1e-9));
  return {from, static_cast<std::size_t>(cells)};
}

/// How much of one cell each of the stack's media fills [1].
[[nodiscard]] std::vector<double> shares(const RunPlan& plan, const PathStack& stack,
                                         double from, double to)
{
  std::vector<double> result(stack.tissues.size(), 0.0);
  if (plan.scenario.grid.averaging == geometry::Averaging::none) {
    from = to = 0.5 * (from + to);
  }
  double low = -std::numeric_limits<double>::infinity();
  double face = 0.0;
  for (std::size_t m = 0; m < stack.tissues.size(); ++m) {
    const double high = m < stack.thickness.size() + 1
                            ? face
                            : std::numeric_limits<double>::infinity();
    if (from == to) {
      result[m] = low <= from && from < high ? 1.0 : 0.0;
    } else {
      result[m] = std::max(0.0, std::min(to, high) - std::max(from, low)) / (to - from);
    }
    low = high;
    face += m < stack.thickness.size() ? stack.thickness[m] : 0.0;
  }
  return result;
}

/// A row of cells across a stack.
struct Row {
  solver::GridLayers layers;
  std::vector<std::vector<double>> shares;  ///< by cell, by medium of the stack
  std::size_t sheet = 0;                    ///< its cell
};

[[nodiscard]] Row row_of(const RunPlan& plan, const PathStack& stack,
                         const std::vector<Complex>& eps, double frequency)
{
  const double cell = plan.grid.raster.cell;
  const Stretch stretch = stretch_of(stack, cell);
  Row row;
  row.layers.cell = cell;
  row.layers.omega = solver::discrete_omega(frequency, plan.grid.time_step);
  row.layers.first = eps[stack.tissues.front()];
  row.layers.last = eps[stack.tissues.back()];
  row.layers.conductor_first = is_conductor(plan, stack.tissues.front());
  row.layers.conductor_last = is_conductor(plan, stack.tissues.back());
  for (std::size_t n = 0; n < stretch.cells; ++n) {
    if (stack.sheet && stretch.from + static_cast<double>(n) * cell <= *stack.sheet) {
      row.sheet = row.layers.eps.size();
    }
    const double low = stretch.from + static_cast<double>(n) * cell;
    std::vector<double> share = shares(plan, stack, low, low + cell);
    double metal = 0.0;
    for (std::size_t m = 0; m < share.size(); ++m) {
      if (is_conductor(plan, stack.tissues[m])) {
        metal += std::exchange(share[m], 0.0);
      }
    }
    if (metal >= 0.5) {  // as solver::build_medium() has it
      continue;
    }
    Complex mean;
    for (std::size_t m = 0; m < share.size(); ++m) {
      share[m] /= 1.0 - metal;
      mean += share[m] * eps[stack.tissues[m]];
    }
    row.layers.eps.push_back(mean);
    row.shares.push_back(std::move(share));
  }
  return row;
}

/// Heat of a row by medium of the stack: that of a cell is shared out by conductivity.
[[nodiscard]] std::vector<double> heat_by_medium(const PathStack& stack, const Row& row,
                                                 const std::vector<Complex>& eps,
                                                 const std::vector<double>& heat)
{
  std::vector<double> result(stack.tissues.size(), 0.0);
  for (std::size_t n = 0; n < heat.size(); ++n) {
    for (std::size_t m = 0; m < result.size(); ++m) {
      const double loss = row.layers.eps[n].imag();
      if (loss < 0.0) {
        result[m] +=
            heat[n] * row.shares[n][m] * eps[stack.tissues[m]].imag() / loss;
      }
    }
  }
  return result;
}

[[nodiscard]] std::vector<double> inner(const std::vector<double>& by_medium)
{
  return {by_medium.begin() + 1, by_medium.end() - 1};
}

}  // namespace

double PathStack::depth() const
{
  return std::accumulate(thickness.begin(), thickness.end(), 0.0);
}

double PathPowers::heat() const
{
  return std::accumulate(absorbed.begin(), absorbed.end(), 0.0);
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
  PathStack stack = body_along(plan, paint, plan.body->centroid, std::cos(angle),
                               std::sin(angle));
  stack.kind = PathKind::shadow;
  return stack;
}

PathPowers exact_powers(const RunPlan& plan, const PathStack& stack,
                        const std::vector<Complex>& eps, double frequency)
{
  solver::LayeredMedium medium;
  medium.frequency = frequency;
  for (const std::size_t tissue : stack.tissues) {
    medium.eps.push_back(eps[tissue]);
  }
  medium.thickness = stack.thickness;
  medium.conductor_first = is_conductor(plan, stack.tissues.front());
  medium.conductor_last = is_conductor(plan, stack.tissues.back());
  if (stack.sheet) {
    const auto answer = solver::solve_current_sheet(medium, {}, *stack.sheet);
    return {answer.into_first, answer.into_last, answer.absorbed, answer.delivered};
  }
  const auto answer = solver::solve_plane_wave(medium, {});
  return {answer.reflectance, answer.transmittance, answer.absorbed, 1.0};
}

PathPowers grid_powers(const RunPlan& plan, const PathStack& stack,
                       const std::vector<Complex>& eps, Complex about, double frequency)
{
  const Row row = row_of(plan, stack, eps, frequency);
  const double cell = plan.grid.raster.cell;
  if (stack.sheet) {
    const solver::GridCurrentSheet answer =
        solver::solve_current_sheet(row.layers, row.sheet);
    const double gain =
        plan.scenario.grid.correct_dispersion
            ? std::norm(solver::source_gain(solver::RadiatorKind::current_sheet, about,
                                            frequency, cell, plan.grid.time_step))
            : 1.0;
    std::vector<double> heat = heat_by_medium(stack, row, eps, answer.fields.heat);
    for (double& power : heat) {
      power /= gain;
    }
    return {answer.into_first / gain + heat.front(), answer.into_last / gain + heat.back(),
            inner(heat), answer.delivered / gain};
  }
  const solver::GridPlaneWave answer = solver::solve_plane_wave(row.layers);
  std::vector<double> heat = heat_by_medium(stack, row, eps, answer.fields.heat);
  // The row begins up to a cell before the face, and incident and reflected wave lose
  // exp(-alpha d) each on that way where the first medium has losses.
  const double alpha = -(materials::two_pi * frequency / materials::speed_of_light *
                         std::sqrt(eps[stack.tissues.front()]))
                            .imag();
  const double at_face = std::exp(-2.0 * alpha * stretch_of(stack, cell).from);
  for (double& power : heat) {
    power *= at_face / answer.incident_flux;
  }
  return {answer.reflectance * at_face * at_face,
          answer.transmittance * at_face + heat.back(), inner(heat), 1.0};
}

}  // namespace torsowave::app
