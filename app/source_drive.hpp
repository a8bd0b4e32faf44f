/// \file
/// \brief The source of a run: put into the stepper, and what results are divided by.

#pragma once

#include <complex>
#include <memory>

#include "app/run_plan.hpp"
#include "app/time_loop.hpp"
#include "postproc/power_balance.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {

/// What drives a run.
struct SourceDrive {
  std::optional<postproc::SourcePlace> place;     ///< implant
  std::shared_ptr<const solver::PlaneWave> wave;  ///< plane wave
};

/// The source as the solver names it.
[[nodiscard]] solver::RadiatorKind radiator_kind(scenarios::SourceKind kind);

/// Adds the scenario's source to a stepper and its recorder to the others.
template <class Real>
[[nodiscard]] SourceDrive add_source(const RunPlan& plan,
                                     solver::TmzStepper<Real>& stepper,
                                     Recorders& recorders);
template <class Real>
[[nodiscard]] SourceDrive add_source(const RunPlan& plan,
                                     solver::TezStepper<Real>& stepper,
                                     Recorders& recorders);

/// How much stronger than itself the plan's implant radiates on the grid (see
/// solver::source_gain()); 1 where grid.dispersion is plain.
[[nodiscard]] std::complex<double> implant_gain(const RunPlan& plan, double frequency);

/// The same of any source in a cell that holds this mixture, none of it a conductor.
/// \param direction  of a dipole [rad]
[[nodiscard]] std::complex<double> source_gain_in(const RunPlan& plan,
                                                  solver::RadiatorKind kind,
                                                  const geometry::Mixture& mixture,
                                                  double frequency, double direction);

/// Gathers what powers are computed from; `recorders` must outlive it.
[[nodiscard]] postproc::PowerInputs power_inputs(const RunPlan& plan,
                                                 const Recorders& recorders,
                                                 const SourceDrive& drive);

/// What happens to a plane wave, or to the power of a sheet, at the layers.
[[nodiscard]] postproc::LayerResponse layer_response(
    const RunPlan& plan, const SourceDrive& drive, const postproc::FieldsAt& fields,
    const postproc::FrequencyResult& powers);

}  // namespace torsowave::app
