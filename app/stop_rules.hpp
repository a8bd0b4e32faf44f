/// \file
/// \brief When a run ends: decayed, steady, or at the time asked for.

#pragma once

#include <complex>
#include <cstddef>
#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/state_archive.hpp"

namespace torsowave::app {

/// A pulse that has not decayed, or a cw run that is not steady, after so many times the
/// expected duration never will.
inline constexpr double patience = 30.0;
/// Characters of what tells why a run stopped.
inline constexpr std::size_t longest_reason = 200;

/// What a cw run compares from period to period: complex, so that phase counts.
class SteadyState {
public:
  /// Largest relative change of the watched phasors since the last period.
  [[nodiscard]] double change(const RunPlan& plan, const solver::PhasorRecorder& phasors);

  void save(solver::StateWriter& out) const;
  void restore(solver::StateReader& in);

private:
  std::vector<std::complex<double>> before_;
};

/// When the recorders of a pulse run fade out, and when the run ends.
class Ending {
public:
  explicit Ending(const RunPlan& plan);

  /// Fixes the end once the energy tells to; `below` in dB under the peak.
  void look(double now, double below);

  [[nodiscard]] bool known() const noexcept { return !reason_.empty(); }
  /// What is there then is what the sums miss.
  [[nodiscard]] bool fading(double now) const noexcept { return known() && now > begin_; }
  [[nodiscard]] double end() const noexcept { return begin_ + fade_; }
  [[nodiscard]] const std::string& reason() const noexcept { return reason_; }
  [[nodiscard]] double weight(double now) const;

  void save(solver::StateWriter& out) const;
  void restore(solver::StateReader& in);

private:
  const RunPlan& plan_;
  double fade_;
  double begin_ = 0.0;
  std::string reason_;
};

}  // namespace torsowave::app
