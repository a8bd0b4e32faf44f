#include "app/time_loop.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>

#include "app/field_guard.hpp"
#include "app/loop_watch.hpp"
#include "app/machine_error.hpp"
#include "app/stop_rules.hpp"
#include "app/stop_signal.hpp"

namespace torsowave::app {
namespace {

/// Energy is a pass over all fields: look at it every so many observations while the
/// source may bring it to its peak, and more seldom while it decays.
constexpr int observations_per_energy = 4;
constexpr int observations_per_energy_later = 16;

/// All Fourier sums, in the order of a checkpoint.
template <class All, class Visit>
void for_each_sum(All& recorders, const Visit& visit)
{
  visit(recorders.phasors);
  visit(recorders.radiation);
  const auto visit_one = [&](auto& recorder) {
    if (recorder) {
      visit(*recorder);
    }
  };
  visit_one(recorders.surface);
  visit_one(recorders.inflow);
  visit_one(recorders.source);
  visit_one(recorders.incident);
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
  recorders.probes.sample(stepper);
  recorders.snapshots.sample(stepper);
}

/// What a time loop works with.
template <class Real>
struct Loop {
  const RunPlan& plan;
  solver::YeeStepper<Real>& stepper;
  Recorders& recorders;
  EnergyWatch& energy;
  ProgressClock& clock;
  FieldGuard& guard;

  void take_energy() const
  {
    energy.sample(stepper);
    guard.weigh(stepper, energy.trace());
  }
  [[nodiscard]] double now() const { return stepper.grid().time(stepper.step()); }
};

/// A pulse run, seen at its observations.
class PulseCourse {
public:
  explicit PulseCourse(const RunPlan& plan) : ending_(plan) {}

  template <class Real>
  void observe(const Loop<Real>& loop)
  {
    const RunPlan& plan = loop.plan;
    ++observation_;
    const double now = loop.now();
    watch(loop.stepper, loop.recorders);
    if (observation_ % plan.sums_every == 0) {
      add_to_sums(loop.stepper, loop.recorders, ending_.weight(now));
    }
    over_ = ending_.known() && now >= ending_.end();
    const int energy_every = now <= plan.waveform.end ? observations_per_energy
                                                      : observations_per_energy_later;
    if (observation_ % energy_every == 0 || over_) {
      loop.take_energy();
      ending_.look(now, -loop.energy.left_db());
      missed_ = ending_.fading(now) ? missed_ : loop.energy.left();
    }
    if (!over_) {
      const double whole = ending_.known() ? ending_.end() : plan.expected_time;
      loop.clock.tell({loop.stepper.step(), now, std::min(0.99, now / whole), 0.0,
                       loop.energy.left_db()});
    }
  }

  [[nodiscard]] bool over() const noexcept { return over_; }
  [[nodiscard]] Stop stop() const
  {
    return {ending_.reason(), "left_in_grid", std::sqrt(missed_)};
  }

  void save(solver::StateWriter& out) const
  {
    ending_.save(out);
    out.write_value("observation", observation_);
    out.write_value("missed", missed_);
    out.write_value("over", over_);
  }
  void restore(solver::StateReader& in)
  {
    ending_.restore(in);
    in.read_value("observation", observation_);
    in.read_value("missed", missed_);
    in.read_value("over", over_);
  }

private:
  Ending ending_;
  long observation_ = 0;
  double missed_ = 1.0;  ///< energy at the beginning of the fade over its peak
  bool over_ = false;
};

/// A cw run, seen at its observations.
class CwCourse {
public:
  explicit CwCourse(const RunPlan& plan)
      : limit_(plan.scenario.duration.time ? *plan.scenario.duration.time
                                           : patience * plan.expected_time),
        settled_(std::pow(10.0, -plan.scenario.duration.decay_db / 20.0))
  {
  }

  template <class Real>
  void observe(const Loop<Real>& loop)
  {
    if (in_period_ == 0) {
      for_each_sum(loop.recorders, [](auto& sum) { sum.restart(); });
    }
    in_period_ += loop.plan.interval;
    watch(loop.stepper, loop.recorders);
    add_to_sums(loop.stepper, loop.recorders, 1.0);
    if (in_period_ >= loop.plan.period_steps) {
      in_period_ = 0;
      end_period(loop);
    }
  }

  [[nodiscard]] bool over() const noexcept { return !because_.empty(); }
  [[nodiscard]] Stop stop() const { return {because_, "not_steady", change_}; }

  void save(solver::StateWriter& out) const
  {
    steady_.save(out);
    out.write_value("calm_periods", calm_periods_);
    out.write_value("in_period", in_period_);
    out.write_value("change", change_);
    out.write("stop", because_);
  }
  void restore(solver::StateReader& in)
  {
    steady_.restore(in);
    in.read_value("calm_periods", calm_periods_);
    in.read_value("in_period", in_period_);
    in.read_value("change", change_);
    in.read_growing("stop", because_, longest_reason);
  }

private:
  template <class Real>
  void end_period(const Loop<Real>& loop)
  {
    loop.take_energy();
    const double now = loop.now();
    const std::optional<double>& time = loop.plan.scenario.duration.time;
    change_ = steady_.change(loop.plan, loop.recorders.phasors);
    calm_periods_ = now > loop.plan.scenario.waveform.ramp && change_ < settled_
                        ? calm_periods_ + 1
                        : 0;
    if (!time && calm_periods_ == 2) {
      because_ = fmt::format("steady: phasors change by {:.1e} in a period", change_);
    } else if (now >= limit_) {
      because_ = time ? "the time asked for"
                      : fmt::format("not steady after {:.3g} ns: {:.1e} in a period",
                                    now * 1e9, change_);
    } else {
      loop.clock.tell({loop.stepper.step(), now,
                       std::min(0.99, now / (time ? limit_ : loop.plan.expected_time)),
                       0.0, 0.0});
    }
  }

  double limit_;    ///< [s]
  double settled_;  ///< largest change of a watched phasor in a steady state
  SteadyState steady_;
  int calm_periods_ = 0;
  int in_period_ = 0;  ///< steps since it began
  double change_ = 1.0;
  std::string because_;
};

/// Steps to the next observation, or to the next look for a signal where that would take
/// long: fields do not depend on how the steps are divided.
template <class Real>
[[nodiscard]] int next_steps(const Loop<Real>& loop)
{
  constexpr double quick = 4e6;  // cell updates: some hundredths of a second
  constexpr int few = 48;        // two passes over memory, so that dividing costs nothing
  const int interval = loop.plan.interval;
  const int left = interval - static_cast<int>(loop.stepper.step() % interval);
  const auto cells = static_cast<double>(loop.plan.grid.raster.size());
  return std::min(left, std::max(few, static_cast<int>(std::min(quick / cells, 1e6))));
}

/// From the checkpoint or the beginning to the end, looking after signals and checkpoints
/// on the way.
template <class Real, class Course>
[[nodiscard]] Stop follow(const Loop<Real>& loop, Course course, Checkpoints* checkpoints)
{
  const auto save = [&](solver::StateWriter& out) {
    loop.stepper.save(out);
    loop.recorders.save(out);
    loop.energy.save(out);
    loop.clock.save(out);
    course.save(out);
  };
  if (checkpoints != nullptr) {
    checkpoints->restore([&](solver::StateReader& in) {
      loop.stepper.restore(in);
      const auto observations =
          static_cast<std::size_t>(loop.stepper.step() / loop.plan.interval);
      loop.recorders.restore(in, observations);
      loop.energy.restore(in, observations);
      loop.clock.restore(in);
      course.restore(in);
    });
  }
  while (!course.over()) {
    loop.stepper.advance(next_steps(loop));
    if (loop.stepper.step() % loop.plan.interval == 0) {
      loop.guard.look(loop.stepper);
      course.observe(loop);
    }
    if (checkpoints == nullptr && StopSignal::requested()) {
      throw Interrupted("stopped by a signal; nothing was written");
    }
    if (checkpoints != nullptr && course.over()) {
      checkpoints->end(loop.stepper.step(), save);
    } else if (checkpoints != nullptr) {
      checkpoints->look(loop.stepper.step(), save);
    }
  }
  return course.stop();
}

}  // namespace

void Recorders::save(solver::StateWriter& out) const
{
  for_each_sum(*this, [&](const auto& sum) { sum.save(out); });
  probes.save(out);
  snapshots.save(out);
}

void Recorders::restore(solver::StateReader& in, std::size_t observations)
{
  for_each_sum(*this, [&](auto& sum) { sum.restore(in); });
  probes.restore(in, observations);
  snapshots.restore(in);
}

template <class Real>
LoopOutcome run_loop(const RunPlan& plan, solver::YeeStepper<Real>& stepper,
                     Recorders& recorders,
                     const std::function<void(const Progress&)>& progress,
                     Checkpoints* checkpoints)
{
  EnergyWatch energy;
  ProgressClock clock(progress);
  FieldGuard guard(plan);
  const Loop<Real> loop{plan, stepper, recorders, energy, clock, guard};
  LoopOutcome outcome;
  outcome.stop = plan.period_steps > 0 ? follow(loop, CwCourse(plan), checkpoints)
                                       : follow(loop, PulseCourse(plan), checkpoints);
  outcome.energy = energy.take();
  outcome.seconds_before = clock.spent_before();
  return outcome;
}

template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<float>&, Recorders&,
                              const std::function<void(const Progress&)>&, Checkpoints*);
template LoopOutcome run_loop(const RunPlan&, solver::YeeStepper<double>&, Recorders&,
                              const std::function<void(const Progress&)>&, Checkpoints*);

}  // namespace torsowave::app
