/// \file
/// \brief What a run records beside phasors: probes, snapshots, energy.

#pragma once

#include <optional>
#include <vector>

#include "app/run_plan.hpp"
#include "postproc/result.hpp"
#include "postproc/result_file.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::app {

/// Values of Ez over time at a few points.
class ProbeRecorder {
public:
  explicit ProbeRecorder(const RunPlan& plan);

  template <class Real>
  void sample(const solver::YeeStepper<Real>& stepper);

  [[nodiscard]] std::vector<postproc::ProbeResult> take() { return std::move(probes_); }

private:
  std::vector<Cell> cells_;
  std::vector<postproc::ProbeResult> probes_;
};

/// Sends a field to the result file at its interval and keeps the moments worth a
/// picture.
class SnapshotRecorder {
public:
  /// \param file  must outlive the recorder; may be null for a plan without snapshots
  SnapshotRecorder(const RunPlan& plan, postproc::ResultFile* file);

  [[nodiscard]] static std::optional<postproc::SnapshotPlan> plan_for(
      const RunPlan& plan);

  template <class Real>
  void sample(const solver::YeeStepper<Real>& stepper);

  /// Moments for pictures: the wave inside the body, at its surface, outside.
  [[nodiscard]] const std::vector<postproc::Snapshot>& shown() const { return shown_; }

private:
  template <class Real>
  [[nodiscard]] postproc::Snapshot take(const solver::YeeStepper<Real>& stepper) const;

  const RunPlan& plan_;
  postproc::ResultFile* file_;
  double next_ = 0.0;
  std::vector<double> shown_times_;
  std::vector<postproc::Snapshot> shown_;
};

}  // namespace torsowave::app
