/// \file
/// \brief When a run observes and when it stops.

#pragma once

#include <chrono>
#include <functional>
#include <string>

#include "app/checkpoints.hpp"
#include "app/observers.hpp"
#include "app/run_plan.hpp"
#include "app/run_scenario.hpp"
#include "postproc/result.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::app {

/// All that records during a run.
struct Recorders {
  solver::PhasorRecorder phasors;
  solver::ContourRecorder radiation;
  std::optional<solver::ContourRecorder> surface;
  std::optional<solver::ContourRecorder> inflow;  ///< plane wave
  std::optional<solver::SourceRecorder> source;   ///< implant
  std::optional<solver::IncidentRecorder> incident;
  ProbeRecorder probes;
  SnapshotRecorder snapshots;

  /// \see solver::YeeStepper::save()
  void save(solver::StateWriter& out) const;
  /// \param observations  made so far
  void restore(solver::StateReader& in, std::size_t observations);
};

/// Why a run stopped, and what its phasors miss for that.
struct Stop {
  std::string because;
  std::string cause;  ///< of the error, e.g. "left_in_grid"
  double field_error =
      0.0;  ///< pulse: root of the energy left when the sums begin to fade, over its
            ///< peak; cw: largest change of a watched phasor in the last period [1]
};

/// How a run ended.
struct LoopOutcome {
  Stop stop;
  postproc::EnergyTrace energy;
  double seconds_before = 0.0;  ///< that earlier processes spent on it [s]
};

/// Steps and records until the scenario's duration is reached.
///
/// Pulse: to the time asked for, or until the source is silent and the energy is
/// `decay_db` below its peak. Cw: whole periods, the recorders starting anew with each,
/// until the phasors of two periods in a row agree to `decay_db`, or to the time asked
/// for.
/// \param checkpoints  to go on from and to keep; null: none
/// \throws Interrupted  A signal, without checkpoints. \throws Suspended  With them.
/// \throws UnstableFields
template <class Real>
[[nodiscard]] LoopOutcome run_loop(const RunPlan& plan, solver::YeeStepper<Real>& stepper,
                                   Recorders& recorders,
                                   const std::function<void(const Progress&)>& progress,
                                   Checkpoints* checkpoints);

extern template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<float>&,
                                     Recorders&,
                                     const std::function<void(const Progress&)>&,
                                     Checkpoints*);
extern template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<double>&,
                                     Recorders&,
                                     const std::function<void(const Progress&)>&,
                                     Checkpoints*);

}  // namespace torsowave::app
