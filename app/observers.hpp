/// \file
/// \brief What a run records beside phasors: probes, snapshots, energy.

#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "app/frame_spool.hpp"
#include "app/pictures.hpp"
#include "app/run_plan.hpp"
#include "app/snapshot_writer.hpp"
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

  /// \see solver::YeeStepper::save()
  void save(solver::StateWriter& out) const;
  /// \param samples  taken so far
  void restore(solver::StateReader& in, std::size_t samples);

  [[nodiscard]] std::vector<postproc::ProbeResult> take() { return std::move(probes_); }

private:
  std::vector<Cell> cells_;
  std::vector<postproc::ProbeResult> probes_;
};

/// Sends a field to the result file at its interval and keeps the moments worth a
/// picture.
class SnapshotRecorder {
public:
  /// \param file   must outlive the recorder; may be null for a plan without snapshots
  /// \param spool  must outlive it; keeps snapshots for a run that goes on from a
  ///   checkpoint; null: there will be none
  SnapshotRecorder(const RunPlan& plan, postproc::ResultFile* file, FrameSpool* spool);

  [[nodiscard]] static std::optional<postproc::SnapshotPlan> plan_for(
      const RunPlan& plan);

  template <class Real>
  void sample(const solver::YeeStepper<Real>& stepper);

  /// Forces the snapshots to disk and notes how many there are. \throws
  /// postproc::WriteError
  void save(solver::StateWriter& out) const;
  /// Sends them to the result file again.
  void restore(solver::StateReader& in);

  /// Waits until the file holds every moment sent to it.
  /// \throws postproc::WriteError
  void finish();

  [[nodiscard]] const Moments& moments() const noexcept { return moments_; }

private:
  template <class Real>
  [[nodiscard]] std::vector<float> take(const solver::YeeStepper<Real>& stepper) const;
  [[nodiscard]] bool is_centred() const;
  void accept(double now, std::vector<float> values);
  void remember(const postproc::Snapshot& snapshot);

  const RunPlan& plan_;
  FrameSpool* spool_;
  std::unique_ptr<SnapshotWriter> writer_;
  double next_ = 0.0;

  std::vector<double> shown_times_;
  Moments moments_;
  bool keeps_history_ = false;
  std::size_t history_stride_ = 1;  ///< of the moments kept
  std::size_t taken_ = 0;
};

}  // namespace torsowave::app
