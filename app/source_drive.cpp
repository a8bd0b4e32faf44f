#include "app/source_drive.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <stdexcept>
#include <utility>

#include "app/row_powers.hpp"
#include "postproc/far_field.hpp"
#include "solver/grid_dispersion.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using solver::RadiatorKind;

[[nodiscard]] SourceDrive place_implant(const RunPlan& plan, Recorders& recorders)
{
  const RadiatorKind kind = radiator_kind(plan.scenario.implant->source);
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

/// True permittivity of a mixture [1].
[[nodiscard]] Complex permittivity_of(const RunPlan& plan,
                                      const geometry::Mixture& mixture, double frequency)
{
  Complex eps;
  for (const geometry::Share& share : mixture) {
    eps += static_cast<double>(share.quanta) / geometry::fraction_quantum *
           relative_permittivity(plan.fitted.media[share.tissue],
                                 plan.fitted.relaxation_times, frequency);
  }
  return eps;
}

}  // namespace

RadiatorKind radiator_kind(scenarios::SourceKind kind)
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

Complex source_gain_in(const RunPlan& plan, RadiatorKind kind,
                       const geometry::Mixture& mixture, double frequency,
                       double direction)
{
  if (!plan.scenario.grid.correct_dispersion) {
    return 1.0;
  }
  const solver::Stencil stencil = mixture.size() == 1
                                      ? plan.stencil_in(mixture.front().tissue)
                                      : solver::Stencil::plain;
  return solver::source_gain(kind, permittivity_of(plan, mixture, frequency), frequency,
                             plan.grid.raster.cell, plan.grid.time_step, stencil,
                             direction);
}

Complex implant_gain(const RunPlan& plan, double frequency)
{
  const std::size_t at = plan.grid.raster.at(plan.source_i, plan.source_j);
  return source_gain_in(plan, radiator_kind(plan.scenario.implant->source),
                        plan.map.palette[plan.map.cells[at]], frequency,
                        plan.scenario.implant->direction);
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
                               {},
                               {}};
  if (plan.surface) {
    inputs.sectors =
        geometry::cut_sectors(plan.map, *plan.body, *plan.surface,
                              (plan.inflow ? *plan.inflow : plan.radiation).inside,
                              plan.body->centroid, plan.scenario.outputs.sectors);
  }
  if (!plan.one_d()) {
    inputs.outer_eps =
        postproc::outer_permittivity(plan.map, plan.stepped, plan.radiation);
  }
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
    inputs.source_gain.push_back(implant_gain(plan, frequency));
  }
  return inputs;
}

postproc::LayerResponse layer_response(const RunPlan& plan, const SourceDrive& drive,
                                       const postproc::FieldsAt& fields,
                                       const postproc::FrequencyResult& powers)
{
  const RowPowers row{[&](const std::string& tissue, double from, double to) {
                        for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
                          if (plan.tissues[t].name == tissue) {
                            return fields.heat_in_layer(static_cast<std::uint16_t>(t),
                                                        from, to);
                          }
                        }
                        return 0.0;
                      },
                      [&](int edge) { return fields.edge_flow(true, edge, 0); }};
  postproc::LayerResponse result;
  for (const double heat : heat_by_layer(plan, row)) {
    result.absorbed_by_layer.push_back(heat / powers.source_power);
  }
  if (!drive.wave) {
    result.into_first = into_first(plan, row, powers.source_power) / powers.source_power;
    result.into_last = into_last(plan, row, powers.source_power) / powers.source_power;
    return result;
  }
  // The reference cell holds the scattered field: the reflected wave alone. Carried back
  // to the face it is the reflection, the incident field there being 1.
  const Complex back =
      incident_phase(plan, *drive.wave, powers.frequency, incident_origin(plan));
  result.reflection =
      fields.centre(drive.wave->reference_i(), drive.wave->reference_j()) / back;
  result.reflectance = std::norm(*result.reflection);
  const bool to_right = plan.scenario.incident->angle == 0.0;
  result.transmittance =
      (to_right ? into_last(plan, row, 0.0) : into_first(plan, row, 0.0)) /
      powers.source_power;
  return result;
}

template SourceDrive add_source(const RunPlan&, solver::TmzStepper<float>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TmzStepper<double>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TezStepper<float>&, Recorders&);
template SourceDrive add_source(const RunPlan&, solver::TezStepper<double>&, Recorders&);

}  // namespace torsowave::app
