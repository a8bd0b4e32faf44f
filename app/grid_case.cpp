#include "app/grid_case.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <utility>

#include "app/row_powers.hpp"
#include "app/source_drive.hpp"
#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/grid_layers.hpp"
#include "solver/medium.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using solver::GridLayers;

[[nodiscard]] GridLayers layers_of(const RunPlan& plan, double frequency)
{
  const solver::Medium medium =
      solver::build_medium(plan.map, plan.stepped, plan.grid.absorbing_cells);
  return solver::grid_layers(medium, plan.grid.raster.cell, plan.grid.time_step,
                             frequency);
}

[[nodiscard]] GridLayers mirrored(GridLayers layers)
{
  std::ranges::reverse(layers.eps);
  std::swap(layers.first, layers.last);
  std::swap(layers.conductor_first, layers.conductor_last);
  return layers;
}

/// Omega eps0 (-Im eps_d) of a tissue [S/m].
[[nodiscard]] double heating(const RunPlan& plan, const std::string& tissue,
                             double frequency)
{
  for (const materials::FittedMedium& medium : plan.stepped.media) {
    if (medium.tissue == tissue && !medium.conductor) {
      const Complex eps = solver::discrete_permittivity(
          {false, medium.eps_inf, medium.conductivity, medium.strengths},
          plan.stepped.relaxation_times, frequency, plan.grid.time_step);
      return solver::discrete_omega(frequency, plan.grid.time_step) *
             materials::vacuum_permittivity * -eps.imag();
    }
  }
  return 0.0;
}

/// Powers of E and of the fluxes of a row whose cell 0 is number `first_cell` of the
/// plan's row, times `scale`.
[[nodiscard]] RowPowers row_of(const RunPlan& plan, double frequency,
                               const std::vector<Complex>& e,
                               const std::vector<double>& flux, std::size_t first_cell,
                               double scale)
{
  const auto offset = static_cast<int>(first_cell);
  const auto heat = [&plan, &e, frequency, offset, scale](const std::string& tissue,
                                                          double from, double to) {
    const geometry::Raster& raster = plan.grid.raster;
    double sum = 0.0;
    for (std::size_t n = 0; n < e.size(); ++n) {
      const double column = static_cast<double>(n) + offset;
      const double low = std::max(from, raster.x_of(column));
      const double high = std::min(to, raster.x_of(column + 1.0));
      sum += high > low ? (high - low) * std::norm(e[n]) : 0.0;
    }
    return 0.5 * heating(plan, tissue, frequency) * sum * scale;
  };
  const auto through = [&flux, offset, scale](int edge) {
    // Beyond the row lies a conductor.
    const int at = edge - offset;
    const bool inside = at >= 0 && at < static_cast<int>(flux.size());
    return inside ? scale * flux[static_cast<std::size_t>(at)] : 0.0;
  };
  return {heat, through};
}

[[nodiscard]] postproc::SlabCase wave_case(const RunPlan& plan, double frequency)
{
  const bool to_right = plan.scenario.incident->angle == 0.0;
  const GridLayers row = layers_of(plan, frequency);
  const GridLayers layers = to_right ? row : mirrored(row);
  solver::GridPlaneWave answer = solver::solve_plane_wave(layers);
  if (!to_right) {
    std::ranges::reverse(answer.fields.e);
    std::ranges::reverse(answer.fields.flux);
    for (double& flux : answer.fields.flux) {
      flux = -flux;
    }
  }
  // From the edge where the incident wave is 1 V/m to the face that it meets.
  const geometry::Raster& raster = plan.grid.raster;
  const double start =
      raster.x_of(static_cast<double>(row.first_cell) +
                  (to_right ? 0.0 : static_cast<double>(row.eps.size())));
  const double face = to_right ? plan.stack->first_face : plan.stack->last_face;
  const Complex k = solver::numerical_wavenumber(plan.grid, plan.scenario.incident->angle,
                                                 frequency, layers.first);
  const Complex incident = std::exp(Complex(0.0, -1.0) * k * std::abs(face - start));
  const RowPowers powers = row_of(plan, frequency, answer.fields.e, answer.fields.flux,
                                  row.first_cell, 1.0 / std::norm(incident));
  postproc::SlabCase at;
  at.source_flux = answer.incident_flux;  // that of 1 V/m, here at the face
  at.reflection = answer.reflection / (incident * incident);
  at.reflectance = std::norm(at.reflection);
  at.transmittance =
      (to_right ? into_last(plan, powers, 0.0) : into_first(plan, powers, 0.0)) /
      at.source_flux;
  at.absorbed = heat_by_layer(plan, powers);
  for (double& share : at.absorbed) {
    share /= at.source_flux;
  }
  return at;
}

[[nodiscard]] postproc::SlabCase sheet_case(const RunPlan& plan, double frequency)
{
  const GridLayers layers = layers_of(plan, frequency);
  const solver::GridCurrentSheet answer = solver::solve_current_sheet(
      layers, static_cast<std::size_t>(plan.source_i) - layers.first_cell);
  const double scale = 1.0 / std::norm(implant_gain(plan, frequency));
  const RowPowers powers = row_of(plan, frequency, answer.fields.e, answer.fields.flux,
                                  layers.first_cell, scale);
  postproc::SlabCase at;
  at.source_flux = answer.delivered * scale;
  at.reflectance = into_first(plan, powers, at.source_flux) / at.source_flux;
  at.transmittance = into_last(plan, powers, at.source_flux) / at.source_flux;
  at.absorbed = heat_by_layer(plan, powers);
  for (double& share : at.absorbed) {
    share /= at.source_flux;
  }
  return at;
}

}  // namespace

postproc::SlabCase grid_case(const RunPlan& plan, double frequency)
{
  return plan.scenario.incident ? wave_case(plan, frequency)
                                : sheet_case(plan, frequency);
}

}  // namespace torsowave::app
