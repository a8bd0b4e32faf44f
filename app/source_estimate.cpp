#include "app/source_estimate.hpp"

#include <algorithm>
#include <cmath>

#include "app/path_media.hpp"
#include "materials/constants.hpp"
#include "postproc/uncertainty.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/own_cell.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] std::size_t tissue_at_source(const RunPlan& plan)
{
  return plan.map.labels[plan.grid.raster.at(plan.source_i, plan.source_j)];
}

}  // namespace

double face_displacement(const RunPlan& plan)
{
  if (plan.scenario.grid.averaging == geometry::Averaging::none) {
    return 0.5;
  }
  return plan.is_tez() ? 0.05 : 0.0;
}

double scaling_db(double displacement, double radius)
{
  return 40.0 * std::log10(1.0 + displacement / radius);
}

double capsule_db(const RunPlan& plan)
{
  if (!plan.scenario.implant || !plan.scenario.implant->capsule) {
    return 0.0;
  }
  const double cell = plan.grid.raster.cell;
  const double radius = plan.scenario.implant->capsule->radius;
  if (plan.scenario.grid.averaging == geometry::Averaging::none) {
    return scaling_db(0.5 * cell, radius);
  }
  return plan.is_tez() ? scaling_db(cell * cell / radius, radius) : 0.0;
}

double near_face_db(const RunPlan& plan, double distance)
{
  const scenarios::ImplantSpec& implant = *plan.scenario.implant;
  if (implant.source != scenarios::SourceKind::dipole || implant.capsule) {
    return 0.0;
  }
  const double cell = plan.grid.raster.cell;
  return scaling_db(0.1 * cell * cell / distance, distance);
}

double source_anisotropy_db(const RunPlan& plan, std::complex<double> eps,
                            double frequency)
{
  const bool dipole = plan.scenario.implant->source == scenarios::SourceKind::dipole;
  const double z =
      materials::two_pi * frequency / materials::speed_of_light * plan.grid.raster.cell;
  const bool averaged =
      plan.stencil_in(tissue_at_source(plan)) == solver::Stencil::averaged;
  const double relative = z * z * std::abs(eps) *
                          ((averaged ? 0.0 : 7.0 / 192.0) + (dipole ? 1.0 / 24.0 : 0.0));
  return 20.0 * std::log10(1.0 + relative);
}

std::optional<double> delivered_error_db(const RunPlan& plan, double frequency,
                                         double delivered)
{
  if (plan.is_tez()) {
    return plan.scenario.implant->capsule ? std::optional(capsule_db(plan))
                                          : std::nullopt;
  }
  const std::size_t tissue = tissue_at_source(plan);
  const std::complex<double> eps = fitted_media(plan, frequency)[tissue];
  const double cell = plan.grid.raster.cell;
  const double dt = plan.grid.time_step;
  const std::complex<double> gain =
      plan.scenario.grid.correct_dispersion
          ? solver::source_gain(solver::RadiatorKind::line_current, eps, frequency, cell,
                                dt)
          : 1.0;
  const double excess = solver::own_cell_excess(
      eps, stepped_media(plan, frequency)[tissue], gain, frequency, cell, dt);
  return postproc::error_db(delivered, delivered - excess) +
         source_anisotropy_db(plan, eps, frequency);
}

bool source_in_losses(const RunPlan& plan)
{
  return materials::has_losses(plan.fitted.media[tissue_at_source(plan)]);
}

}  // namespace torsowave::app
