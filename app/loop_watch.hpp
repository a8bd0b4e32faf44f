/// \file
/// \brief What a time loop tells about its progress: time left, energy.

#pragma once

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <functional>
#include <utility>

#include "app/run_scenario.hpp"
#include "postproc/result.hpp"
#include "solver/state_archive.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::app {

/// Calls back at most twice a second.
class ProgressClock {
public:
  explicit ProgressClock(const std::function<void(const Progress&)>& report)
      : report_(report)
  {
  }

  void tell(Progress progress)
  {
    const auto now = std::chrono::steady_clock::now();
    if (!report_ || now - last_ < std::chrono::milliseconds(500)) {
      return;
    }
    last_ = now;
    progress.seconds_left =
        progress.fraction > 0.0 ? spent() * (1.0 / progress.fraction - 1.0) : 0.0;
    report_(progress);
  }

  void save(solver::StateWriter& out) const { out.write_value("seconds", spent()); }
  void restore(solver::StateReader& in) { in.read_value("seconds", before_); }

  /// By processes before this one [s].
  [[nodiscard]] double spent_before() const noexcept { return before_; }

private:
  /// [s]
  [[nodiscard]] double spent() const
  {
    const auto now = std::chrono::steady_clock::now();
    return before_ + std::chrono::duration<double>(now - begin_).count();
  }

  const std::function<void(const Progress&)>& report_;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  std::chrono::steady_clock::time_point last_ = begin_;
  double before_ = 0.0;
};

/// Energy over time, and how far it has fallen from its peak.
class EnergyWatch {
public:
  template <class Real>
  void sample(const solver::YeeStepper<Real>& stepper)
  {
    trace_.time.push_back(stepper.grid().time(stepper.step()));
    trace_.total.push_back(stepper.energy());
    peak_ = std::max(peak_, trace_.total.back());
  }
  [[nodiscard]] double left() const
  {
    return peak_ > 0.0 ? trace_.total.back() / peak_ : 1.0;  // no sample yet: peak 0
  }
  [[nodiscard]] double left_db() const
  {
    return 10.0 * std::log10(std::max(left(), 1e-300));
  }
  [[nodiscard]] const postproc::EnergyTrace& trace() const { return trace_; }
  [[nodiscard]] postproc::EnergyTrace take() { return std::move(trace_); }

  void save(solver::StateWriter& out) const
  {
    out.write("energy_time", trace_.time);
    out.write("energy", trace_.total);
    out.write_value("energy_peak", peak_);
  }
  void restore(solver::StateReader& in, std::size_t observations)
  {
    in.read_growing("energy_time", trace_.time, observations);
    in.read_growing("energy", trace_.total, observations);
    in.read_value("energy_peak", peak_);
    if (trace_.time.size() != trace_.total.size() ||
        (trace_.time.empty() && peak_ > 0.0)) {
      throw solver::StateError("is damaged");
    }
  }

private:
  postproc::EnergyTrace trace_;
  double peak_ = 0.0;
};

}  // namespace torsowave::app
