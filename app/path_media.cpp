#include "app/path_media.hpp"

#include "solver/grid_dispersion.hpp"
#include "solver/medium.hpp"

namespace torsowave::app {
namespace {

template <class Get>
[[nodiscard]] Permittivities by_tissue(const RunPlan& plan, Get get)
{
  Permittivities result;
  for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
    result.push_back(materials::is_conductor(plan.tissues[t]) ? 1.0 : get(t));
  }
  return result;
}

}  // namespace

Permittivities own_media(const RunPlan& plan, double frequency)
{
  return by_tissue(plan, [&](std::size_t t) {
    return materials::relative_permittivity(plan.tissues[t], frequency);
  });
}

Permittivities fitted_media(const RunPlan& plan, double frequency)
{
  return by_tissue(plan, [&](std::size_t t) {
    return materials::relative_permittivity(plan.fitted.media[t],
                                            plan.fitted.relaxation_times, frequency);
  });
}

Permittivities stepped_media(const RunPlan& plan, double frequency)
{
  return by_tissue(plan, [&](std::size_t t) {
    const materials::FittedMedium& medium = plan.stepped.media[t];
    return solver::discrete_permittivity(
        {false, medium.eps_inf, medium.conductivity, medium.strengths},
        plan.stepped.relaxation_times, frequency, plan.grid.time_step);
  });
}

Permittivities exact_on_row(const RunPlan& plan, const Permittivities& eps,
                            double frequency)
{
  return by_tissue(plan, [&](std::size_t t) {
    return solver::grid_permittivity(eps[t], frequency, plan.grid.raster.cell,
                                     plan.grid.time_step, solver::Stencil::row);
  });
}

}  // namespace torsowave::app
