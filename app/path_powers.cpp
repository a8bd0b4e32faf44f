#include "app/path_powers.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include "geometry/palette.hpp"
#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/grid_layers.hpp"
#include "solver/layered_medium.hpp"
#include "solver/medium.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;

[[nodiscard]] bool is_conductor(const RunPlan& plan, std::size_t tissue)
{
  return materials::is_conductor(plan.tissues[tissue]);
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
[[nodiscard]] std::vector<double> fill_of(const RunPlan& plan, const PathStack& stack,
                                          double from, double to)
{
  if (plan.scenario.grid.averaging == geometry::Averaging::none) {
    from = to = 0.5 * (from + to);
  }
  std::vector<double> fill;
  double low = -std::numeric_limits<double>::infinity();
  double face = 0.0;
  for (std::size_t m = 0; m < stack.tissues.size(); ++m) {
    const bool last = m > stack.thickness.size();
    const double high = last ? std::numeric_limits<double>::infinity() : face;
    fill.push_back(from == to ? (low <= from && from < high ? 1.0 : 0.0)
                              : std::max(0.0, std::min(to, high) - std::max(from, low)) /
                                    (to - from));
    low = high;
    face += m < stack.thickness.size() ? stack.thickness[m] : 0.0;
  }
  return fill;
}

/// The same in the multiples that voxelise() counts.
[[nodiscard]] std::vector<double> quantised(const std::vector<double>& fill)
{
  constexpr double whole = 1e9;
  std::vector<std::uint64_t> weights;
  weights.reserve(fill.size());
  for (const double part : fill) {
    weights.push_back(static_cast<std::uint64_t>(std::llround(whole * part)));
  }
  std::vector<double> result(fill.size(), 0.0);
  for (const geometry::Share& share : geometry::quantise(weights)) {
    result[share.tissue] = static_cast<double>(share.quanta) / geometry::fraction_quantum;
  }
  return result;
}

/// Permittivity of a cell with this filling, as solver::build_medium() has it: a lesser
/// share of conductor is left out; empty: a conductor.
[[nodiscard]] std::optional<Complex> cell_permittivity(const RunPlan& plan,
                                                       const PathStack& stack,
                                                       const std::vector<double>& fill,
                                                       const std::vector<Complex>& eps)
{
  double metal = 0.0;
  Complex sum;
  for (std::size_t m = 0; m < fill.size(); ++m) {
    if (is_conductor(plan, stack.tissues[m])) {
      metal += fill[m];
    } else {
      sum += fill[m] * eps[stack.tissues[m]];
    }
  }
  return metal < 0.5 ? std::optional(sum / (1.0 - metal)) : std::nullopt;
}

/// A row of cells across a stack.
struct Row {
  solver::GridLayers layers;
  std::vector<std::vector<double>> fill;  ///< by cell, by medium of the stack
  std::size_t sheet = 0;                  ///< its cell
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
    std::vector<double> fill = fill_of(plan, stack, low, low + cell);
    const auto mean = cell_permittivity(plan, stack, quantised(fill), eps);
    if (mean) {
      row.layers.eps.push_back(*mean);
      row.fill.push_back(std::move(fill));
    }
  }
  return row;
}

/// Heat of a row by medium of the stack, as FieldsAt::heat_in_layer() counts it: by
/// length.
[[nodiscard]] std::vector<double> heat_by_medium(const PathStack& stack, const Row& row,
                                                 const std::vector<Complex>& eps,
                                                 const std::vector<double>& heat)
{
  std::vector<double> result(stack.tissues.size(), 0.0);
  for (std::size_t n = 0; n < heat.size(); ++n) {
    for (std::size_t m = 0; m < result.size(); ++m) {
      const double loss = row.layers.eps[n].imag();
      if (loss < 0.0) {
        result[m] += heat[n] * row.fill[n][m] * eps[stack.tissues[m]].imag() / loss;
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

double PathPowers::heat() const
{
  return std::accumulate(absorbed.begin(), absorbed.end(), 0.0);
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
    return {answer.into_first / gain + heat.front(),
            answer.into_last / gain + heat.back(), inner(heat), answer.delivered / gain};
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
