#include "app/source_drive.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using solver::RadiatorKind;

[[nodiscard]] RadiatorKind kind_of(scenarios::SourceKind kind)
{
  switch (kind) {
    case scenarios::SourceKind::magnetic_line:
      return RadiatorKind::magnetic_line;
    case scenarios::SourceKind::dipole:
      return RadiatorKind::dipole;
    case scenarios::SourceKind::current_sheet:
      return RadiatorKind::current_sheet;
    default:
      return RadiatorKind::line_current;
  }
}

[[nodiscard]] SourceDrive place_implant(const RunPlan& plan, Recorders& recorders)
{
  const RadiatorKind kind = kind_of(plan.scenario.implant->source);
  recorders.source.emplace(plan.grid, plan.waveform.current, plan.scenario.frequencies,
                           kind == RadiatorKind::dipole ? 0.0 : 0.5);
  return {postproc::SourcePlace{kind, plan.source_i, plan.source_j,
                                plan.scenario.implant->direction},
          nullptr};
}

/// The medium that a plane wave comes through, as stepped.
[[nodiscard]] solver::HomogeneousMedium outer_medium(const RunPlan& plan)
{
  std::string name = plan.scenario.body.background;
  if (plan.stack) {
    name = plan.scenario.incident->angle == 0.0 ? plan.stack->first : plan.stack->last;
  }
  for (const materials::FittedMedium& medium : plan.stepped.media) {
    if (medium.tissue == name) {
      return {plan.stepped.relaxation_times,
              {false, medium.eps_inf, medium.conductivity, medium.strengths}};
    }
  }
  throw std::logic_error("the plan lacks its outer medium " + name);
}

template <class Stepper>
[[nodiscard]] SourceDrive illuminate(const RunPlan& plan, Stepper& stepper,
                                     Recorders& recorders)
{
  auto wave = std::make_shared<solver::PlaneWave>(
      plan.grid, solver::PlaneWaveSpec{plan.is_tez() ? solver::Polarisation::tez
                                                     : solver::Polarisation::tmz,
                                       *plan.total_field, plan.scenario.incident->angle,
                                       plan.waveform.current, outer_medium(plan)});
  stepper.add_injection(wave);
  recorders.incident.emplace(plan.grid, wave, wave->reference_i(), wave->reference_j(),
                             plan.scenario.frequencies);
  return {std::nullopt, std::move(wave)};
}

/// exp(-j k d) of the incident wave from its reference cell to a point.
[[nodiscard]] Complex incident_phase(const RunPlan& plan, const solver::PlaneWave& wave,
                                     double frequency, geometry::Point to)
{
  const geometry::Raster& raster = plan.grid.raster;
  const double angle = wave.direction().angle();
  const double way =
      (to.x - raster.x(wave.reference_i())) * std::cos(angle) +
      (plan.one_d() ? 0.0 : (to.y - raster.y(wave.reference_j())) * std::sin(angle));
  const solver::HomogeneousMedium medium = outer_medium(plan);
  const Complex eps = solver::discrete_permittivity(medium.entry, medium.relaxation_times,
                                                    frequency, plan.grid.time_step);
  const Complex k = solver::numerical_wavenumber(plan.grid, angle, frequency, eps);
  return std::exp(Complex(0.0, -1.0) * k * way);
}

/// Where the incident field is 1 V/m: the face it meets, in two dimensions the origin.
[[nodiscard]] geometry::Point incident_origin(const RunPlan& plan)
{
  if (!plan.stack) {
    return {};
  }
  return {plan.scenario.incident->angle == 0.0 ? plan.stack->first_face
                                               : plan.stack->last_face,
          0.0};
}

/// True permittivity where the implant lies [1].
[[nodiscard]] Complex permittivity_at_source(const RunPlan& plan, double frequency)
{
  const geometry::Mixture& mixture =
      plan.map.palette[plan.map.cells[plan.grid.raster.at(plan.source_i, plan.source_j)]];
  Complex eps;
  for (const geometry::Share& share : mixture) {
    eps += static_cast<double>(share.quanta) / geometry::fraction_quantum *
           relative_permittivity(plan.fitted.media[share.tissue],
                                 plan.fitted.relaxation_times, frequency);
  }
  return eps;
}

/// Heat of one tissue in a stretch of the row [W/m^2].
[[nodiscard]] double heat_in(const RunPlan& plan, const postproc::FieldsAt& fields,
                             const std::string& tissue, double from, double to)
{
  const auto found = std::ranges::find(plan.tissues, tissue, &materials::Tissue::name);
  return found == plan.tissues.end()
             ? 0.0
             : fields.heat_in_layer(
                   static_cast<std::uint16_t>(found - plan.tissues.begin()), from, to);
}

/// Power outward through the first or the last face [W/m^2]: through the next edge
/// beyond it, and what the outer medium takes up to there.
[[nodiscard]] double outward_flux(const RunPlan& plan, const postproc::FieldsAt& fields,
                                  bool to_right)
{
  const scenarios::LayerStack& stack = *plan.stack;
  const geometry::Raster& raster = plan.grid.raster;
  const double face = to_right ? stack.last_face : stack.first_face;
  const double column = (face - raster.corner.x) / raster.cell;
  const int edge =
      static_cast<int>(to_right ? std::ceil(column - 1e-9) : std::floor(column + 1e-9));
  const double at = raster.x_of(edge);
  const double before = to_right ? heat_in(plan, fields, stack.last, face, at)
                                 : heat_in(plan, fields, stack.first, at, face);
  return fields.row_flux(edge) * (to_right ? 1.0 : -1.0) + before;
}

}  // namespace

template <class Real>
SourceDrive add_source(const RunPlan& plan, solver::TmzStepper<Real>& stepper,
                       Recorders& recorders)
{
  if (plan.scenario.incident) {
    return illuminate(plan, stepper, recorders);
  }
  // A sheet of J A/m is a current of J dx in its cell.
  const double width = plan.one_d() ? plan.grid.raster.cell : 1.0;
  const std::function<double(double)>& current = plan.waveform.current;
  stepper.add_source(
      solver::LineCurrent{plan.source_i, plan.source_j,
                          [current, width](double t) { return width * current(t); }});
  return place_implant(plan, recorders);
}

template <class Real>
SourceDrive add_source(const RunPlan& plan, solver::TezStepper<Real>& stepper,
                       Recorders& recorders)
{
  if (plan.scenario.incident) {
    return illuminate(plan, stepper, recorders);
  }
  if (plan.scenario.implant->source == scenarios::SourceKind::dipole) {
    stepper.add_source(solver::LineDipole{plan.source_i, plan.source_j,
                                          plan.scenario.implant->direction,
                                          plan.waveform.current});
  } else {
    stepper.add_source(
        solver::MagneticLine{plan.source_i, plan.source_j, plan.waveform.current});
  }
  return place_implant(plan, recorders);
}

postproc::PowerInputs power_inputs(const RunPlan& plan, const Recorders& recorders,
                                   const SourceDrive& drive)
{
  postproc::PowerInputs inputs{plan.map,
                               plan.stepped,
                               plan.grid,
                               recorders.phasors,
                               plan.tez ? &*plan.tez : nullptr,
                               recorders.radiation,
                               recorders.surface ? &*recorders.surface : nullptr,
                               recorders.inflow ? &*recorders.inflow : nullptr,
                               drive.place,
                               {},
                               {},
                               plan.body ? plan.body->centroid : geometry::Point{},
                               plan.scenario.outputs.sectors};
  for (std::size_t f = 0; f < plan.scenario.frequencies.size(); ++f) {
    const double frequency = plan.scenario.frequencies[f];
    if (drive.wave) {
      inputs.source_sum.push_back(
          recorders.incident->sum(f) *
          incident_phase(plan, *drive.wave, frequency, incident_origin(plan)));
      inputs.source_gain.emplace_back(1.0);
      continue;
    }
    inputs.source_sum.push_back(recorders.source->sum(f));
    inputs.source_gain.push_back(
        plan.scenario.grid.correct_dispersion
            ? solver::source_gain(drive.place->kind,
                                  permittivity_at_source(plan, frequency), frequency,
                                  plan.grid.raster.cell, plan.grid.time_step)
            : 1.0);
  }
  return inputs;
}

postproc::LayerResponse layer_response(const RunPlan& plan, const SourceDrive& drive,
                                       const postproc::FieldsAt& fields,
                                       const postproc::FrequencyResult& powers)
{
  const scenarios::LayerStack& stack = *plan.stack;
  postproc::LayerResponse result;
  for (const scenarios::Slab& slab : stack.slabs) {
    result.absorbed_by_layer.push_back(
        heat_in(plan, fields, slab.tissue, slab.from, slab.to) / powers.source_power);
  }
  const double to_first = outward_flux(plan, fields, false) / powers.source_power;
  const double to_last = outward_flux(plan, fields, true) / powers.source_power;
  if (!drive.wave) {
    // Where the sheet stands in an outer medium, that one takes what the face does not.
    const double x = plan.grid.raster.x(plan.source_i);
    result.into_first = x < stack.first_face ? 1.0 + to_first : to_first;
    result.into_last = x > stack.last_face ? 1.0 + to_last : to_last;
    return result;
  }
  // The reference cell holds the scattered field: the reflected wave alone. Carried back
  // to the face it is the reflection, the incident field there being 1.
  const Complex back =
      incident_phase(plan, *drive.wave, powers.frequency, incident_origin(plan));
  result.reflection =
      fields.centre(drive.wave->reference_i(), drive.wave->reference_j()) / back;
  result.reflectance = std::norm(*result.reflection);
  result.transmittance = plan.scenario.incident->angle == 0.0 ? to_last : to_first;
  return result;
}

template SourceDrive add_source(const RunPlan&, solver::TmzStepper<float>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TmzStepper<double>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TezStepper<float>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TezStepper<double>&, Recorders&);

}  // namespace torsowave::app
