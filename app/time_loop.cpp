#include "app/time_loop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>

#include "app/machine_error.hpp"
#include "app/stop_signal.hpp"

namespace torsowave::app {
namespace {

/// Energy is a pass over all fields: look at it every so many observations while the
/// source may bring it to its peak, and more seldom while it decays.
constexpr int observations_per_energy = 4;
constexpr int observations_per_energy_later = 16;
/// A pulse that has not decayed after so many times the expected duration never will.
constexpr double patience = 30.0;

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
    const double spent = std::chrono::duration<double>(now - begin_).count();
    progress.seconds_left =
        progress.fraction > 0.0 ? spent * (1.0 / progress.fraction - 1.0) : 0.0;
    report_(progress);
  }

private:
  const std::function<void(const Progress&)>& report_;
  std::chrono::steady_clock::time_point begin_ = std::chrono::steady_clock::now();
  std::chrono::steady_clock::time_point last_ = begin_;
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
  [[nodiscard]] bool is_finite() const { return std::isfinite(trace_.total.back()); }
  [[nodiscard]] postproc::EnergyTrace take() { return std::move(trace_); }

private:
  postproc::EnergyTrace trace_;
  double peak_ = 0.0;
};

/// Ez is zero there for good.
[[nodiscard]] bool holds_conductor(const RunPlan& plan, int i, int j)
{
  const geometry::Mixture& mixture =
      plan.map.palette[plan.map.cells[plan.grid.raster.at(i, j)]];
  return std::ranges::any_of(mixture, [&](const geometry::Share& share) {
    return materials::is_conductor(plan.tissues[share.tissue]);
  });
}

/// What a cw run compares from period to period: complex, so that phase counts.
class SteadyState {
public:
  /// Largest relative change of the watched phasors since the last period.
  [[nodiscard]] double change(const RunPlan& plan, const Recorders& recorders)
  {
    std::vector<std::complex<double>> now;
    const geometry::Raster& raster = plan.grid.raster;
    if (plan.scenario.implant) {
      now.push_back(recorders.phasors.row(
          0, plan.source_j)[static_cast<std::size_t>(plan.source_i)]);
    }
    // A coarse net over the domain: the far corners settle last.
    for (int j = raster.ny / 16; j < raster.ny; j += std::max(1, raster.ny / 8)) {
      for (int i = raster.nx / 16; i < raster.nx; i += std::max(1, raster.nx / 8)) {
        if (!holds_conductor(plan, i, j)) {
          now.push_back(recorders.phasors.row(0, j)[static_cast<std::size_t>(i)]);
        }
      }
    }
    double worst = before_.empty() ? 1.0 : 0.0;
    for (std::size_t p = 0; p < before_.size(); ++p) {
      const double size = std::abs(now[p]);
      worst = size > 0.0 ? std::max(worst, std::abs(now[p] - before_[p]) / size) : 1.0;
    }
    before_ = std::move(now);
    return worst;
  }

private:
  std::vector<std::complex<double>> before_;
};

void restart(Recorders& recorders)
{
  recorders.phasors.restart();
  recorders.radiation.restart();
  const auto restart_one = [](auto& recorder) {
    if (recorder) {
      recorder->restart();
    }
  };
  restart_one(recorders.surface);
  restart_one(recorders.inflow);
  restart_one(recorders.source);
  restart_one(recorders.incident);
}

void check_signal()
{
  if (StopSignal::requested()) {
    throw Interrupted("stopped by a signal; nothing was written");
  }
}

template <class Real>
void add_to_sums(const solver::YeeStepper<Real>& stepper, Recorders& recorders,
                 double weight)
{
  recorders.phasors.sample(stepper, weight);
  recorders.radiation.sample(stepper, weight);
  if (recorders.surface) {
    recorders.surface->sample(stepper, weight);
  }
  if (recorders.inflow) {
    recorders.inflow->sample(stepper, weight);
  }
  if (recorders.source) {
    recorders.source->sample(stepper.step(), weight);
  }
  if (recorders.incident) {
    recorders.incident->sample(weight);
  }
}

/// Moments of the fields as they are.
template <class Real>
void watch(const solver::YeeStepper<Real>& stepper, Recorders& recorders)
{
  check_signal();
  recorders.probes.sample(stepper);
  recorders.snapshots.sample(stepper);
}

void check_state(const EnergyWatch& energy)
{
  if (!energy.is_finite()) {
    throw std::runtime_error("the fields are no longer finite numbers");
  }
}

/// When the recorders of a pulse run fade out, and when the run ends.
class Ending {
public:
  explicit Ending(const RunPlan& plan) : plan_(plan), fade_(plan.fade_time)
  {
    const scenarios::DurationSpec& duration = plan.scenario.duration;
    if (duration.time) {
      // The time asked for is kept; the source itself is never faded.
      fade_ = std::clamp(*duration.time - plan.waveform.end, 0.0, fade_);
      begin_ = *duration.time - fade_;
      reason_ = "the time asked for";
    }
  }

  /// Fixes the end once the energy tells to; `below` in dB under the peak.
  void look(double now, double below)
  {
    if (!reason_.empty()) {
      return;
    }
    if (now > plan_.waveform.end && below >= plan_.scenario.duration.decay_db) {
      reason_ = fmt::format("energy {:.0f} dB below its peak", below);
    } else if (now >= patience * plan_.expected_time) {
      reason_ = fmt::format("not decayed after {:.3g} ns: {:.0f} dB below the peak",
                            now * 1e9, below);
    }
    begin_ = now;
  }

  [[nodiscard]] bool known() const noexcept { return !reason_.empty(); }
  /// What is there then is what the sums miss.
  [[nodiscard]] bool fading(double now) const noexcept { return known() && now > begin_; }
  [[nodiscard]] double end() const noexcept { return begin_ + fade_; }
  [[nodiscard]] const std::string& reason() const noexcept { return reason_; }
  [[nodiscard]] double weight(double now) const
  {
    return known() && fade_ > 0.0 ? solver::fade_weight((now - begin_) / fade_) : 1.0;
  }

private:
  const RunPlan& plan_;
  double fade_;
  double begin_ = 0.0;
  std::string reason_;
};

template <class Real>
[[nodiscard]] Stop step_pulse(const RunPlan& plan, solver::YeeStepper<Real>& stepper,
                              Recorders& recorders, EnergyWatch& energy,
                              ProgressClock& clock)
{
  Ending ending(plan);
  double missed = 1.0;  // energy at the beginning of the fade over its peak
  for (long observation = 1;; ++observation) {
    stepper.advance(plan.interval);
    const double now = stepper.grid().time(stepper.step());
    watch(stepper, recorders);
    if (observation % plan.sums_every == 0) {
      add_to_sums(stepper, recorders, ending.weight(now));
    }
    const bool over = ending.known() && now >= ending.end();
    const int energy_every = now <= plan.waveform.end ? observations_per_energy
                                                      : observations_per_energy_later;
    if (observation % energy_every == 0 || over) {
      energy.sample(stepper);
      check_state(energy);
      ending.look(now, -energy.left_db());
      missed = ending.fading(now) ? missed : energy.left();
    }
    if (over) {
      return {ending.reason(), "left_in_grid", std::sqrt(missed)};
    }
    const double whole = ending.known() ? ending.end() : plan.expected_time;
    clock.tell({stepper.step(), now, std::min(0.99, now / whole), 0.0, energy.left_db()});
  }
}

template <class Real>
[[nodiscard]] Stop step_cw(const RunPlan& plan, solver::YeeStepper<Real>& stepper,
                           Recorders& recorders, EnergyWatch& energy,
                           ProgressClock& clock)
{
  const scenarios::DurationSpec& duration = plan.scenario.duration;
  const double limit = duration.time ? *duration.time : patience * plan.expected_time;
  const double settled = std::pow(10.0, -duration.decay_db / 20.0);
  SteadyState steady;
  int calm_periods = 0;
  for (;;) {
    restart(recorders);
    for (int n = 0; n < plan.period_steps; n += plan.interval) {
      stepper.advance(plan.interval);
      watch(stepper, recorders);
      add_to_sums(stepper, recorders, 1.0);
    }
    energy.sample(stepper);
    check_state(energy);
    const double now = stepper.grid().time(stepper.step());
    const double change = steady.change(plan, recorders);
    calm_periods =
        now > plan.scenario.waveform.ramp && change < settled ? calm_periods + 1 : 0;
    if (!duration.time && calm_periods == 2) {
      return {fmt::format("steady: phasors change by {:.1e} in a period", change),
              "not_steady", change};
    }
    if (now >= limit) {
      return {duration.time
                  ? "the time asked for"
                  : fmt::format("not steady after {:.3g} ns: {:.1e} in a period",
                                now * 1e9, change),
              "not_steady", change};
    }
    clock.tell({stepper.step(), now,
                std::min(0.99, now / (duration.time ? limit : plan.expected_time)), 0.0,
                0.0});
  }
}

}  // namespace

template <class Real>
LoopOutcome run_loop(const RunPlan& plan, solver::YeeStepper<Real>& stepper,
                     Recorders& recorders,
                     const std::function<void(const Progress&)>& progress)
{
  EnergyWatch energy;
  ProgressClock clock(progress);
  LoopOutcome outcome;
  outcome.stop = plan.period_steps > 0
                     ? step_cw(plan, stepper, recorders, energy, clock)
                     : step_pulse(plan, stepper, recorders, energy, clock);
  outcome.energy = energy.take();
  return outcome;
}

template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<float>&, Recorders&,
                              const std::function<void(const Progress&)>&);
template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<double>&, Recorders&,
                              const std::function<void(const Progress&)>&);

}  // namespace torsowave::app
