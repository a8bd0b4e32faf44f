#include "bench/suite.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <set>
#include <utility>

#include "app/run_plan.hpp"
#include "bench/contenders.hpp"
#include "bench/numpy_textbook.hpp"
#include "bench/paths.hpp"
#include "bench/plans.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::bench {
namespace {

using scenarios::Mode;

constexpr int agreement_steps = 1000;  // long enough to meet the absorber

/// Scenarios that the scenes are made from, and what else the cases share.
class Runner {
public:
  Runner(const SuiteOptions& options,
         const std::function<void(const SuiteProgress&)>& tell)
      : options_(options),
        tell_(tell),
        threads_(thread_counts(options)),
        with_numpy_(numpy_is_there()),
        demo_(scenarios::read_scenario(source_folder() +
                                       "/scenarios/abdomen-graft-sensor.yaml")),
        layers_(
            scenarios::read_scenario(source_folder() + "/scenarios/skin-fat-muscle.yaml"))
  {
  }

  [[nodiscard]] Report run()
  {
    Report report;
    report.machine = this_machine();
    report.threads = options_.threads;
    report.rounds = options_.rounds;
    if (!with_numpy_) {
      report.notes.push_back(fmt::format(
          "NumPy left out: {} has none (Debian package python3-numpy)", python_path()));
    }
    const std::vector<Plan> plans = plans_for(options_);
    total_ = options_.quick ? 1.0 : static_cast<double>(plans.size() + 2);
    say("do all compute the same fields?");
    report.agreement = agreement(demo_scene(demo_, Mode::tmz, {160, 160}, 3),
                                 agreement_steps, options_.threads, with_numpy_);
    if (!options_.quick) {
      ++done_;
      say("speed of the machine");
      report.speeds = machine_speed(report.machine, threads_, rounds("machine", 1.0));
      ++done_;
    }
    for (const Plan& plan : plans) {
      add_case(plan, report);
      ++done_;
    }
    report.headlines = headlines_of(report.cases, options_.threads);
    return report;
  }

private:
  void say(const std::string& doing, double part = 0.0) const
  {
    tell_({doing, (done_ + part) / total_});
  }

  [[nodiscard]] Rounds rounds(const std::string& doing, double ticks) const
  {
    Rounds how{options_.rounds, options_.seconds, {}};
    how.tick = [this, doing, ticks, ticked = 0]() mutable {
      say(doing, std::min(1.0, ++ticked / ticks));
    };
    return how;
  }

  [[nodiscard]] Scene scene_of(const Plan& plan) const
  {
    return plan.mode == Mode::one_d ? layer_scene(layers_, plan.size.nx)
                                    : demo_scene(demo_, plan.mode, plan.size, plan.poles);
  }

  [[nodiscard]] std::vector<Contender> contenders(const Plan& plan,
                                                  const Scene& scene) const
  {
    std::vector<Contender> all =
        product_contenders(scene, plan.mode == Mode::one_d ? std::vector{1} : threads_);
    if (plan.mode == Mode::tmz) {
      std::ranges::move(textbook_contenders(scene, threads_), std::back_inserter(all));
      if (with_numpy_) {
        constexpr double cell_steps = 4.2e6;  // in a round: about a second
        all.push_back(numpy_contender(
            scene, std::clamp(static_cast<int>(cell_steps / scene.cells()), 1, 40)));
      }
    }
    if (options_.quick) {
      const std::set<std::string> wanted{textbook_double, plain_sweep, tiled, numpy};
      std::erase_if(all, [&](const Contender& c) { return !wanted.contains(c.name); });
    }
    return all;
  }

  void add_case(const Plan& plan, Report& report) const
  {
    const char* const mode = plan.mode == Mode::tmz   ? "TMz"
                             : plan.mode == Mode::tez ? "TEz"
                                                      : "1D";
    const std::string name =
        fmt::format("{} {} x {}, K = {}", mode, plan.size.nx, plan.size.ny, plan.poles);
    const double need = memory_of(plan);
    if (need > static_cast<double>(app::available_memory())) {
      report.notes.push_back(
          fmt::format("{} left out: needs {:.1f} GiB of memory", name, need / 0x1p30));
      return;
    }
    say(name + ": making the scene");
    const Scene scene = scene_of(plan);
    Case result{mode, {scene.grid.raster.nx, scene.grid.raster.ny}, plan.poles, {}, {},
                {}};
    result.shares = shares_of(scene);
    result.cost = product_cost(scene, result.shares);
    const std::vector<Contender> all = contenders(plan, scene);
    const double ticks =
        static_cast<double>(all.size()) * static_cast<double>(options_.rounds);
    for (Rate& rate : measure(all, rounds(name, ticks))) {
      result.lines.push_back(line_of(std::move(rate), result, report));
    }
    report.cases.push_back(std::move(result));
  }

  [[nodiscard]] static Line line_of(Rate rate, const Case& of, const Report& report)
  {
    Line line{std::move(rate), 0.0, {}};
    const std::string& name = line.rate.name;
    const double cells = double{1} * of.size.nx * of.size.ny;
    const bool ours = name == tiled || name == plain_sweep;
    const std::size_t number = name == textbook_float ? sizeof(float) : sizeof(double);
    Cost cost = of.cost;
    double footprint = cells * 4.0 * (3.0 + of.poles);
    if (!ours) {
      cost = {textbook_bytes(of.poles, number), 0.0, 0.0, 0.0};
      footprint = cells * static_cast<double>(number) * (5.0 + 2.0 * of.poles);
    }
    line.bytes = name == numpy ? 0.0 : cost.bytes;
    for (const MachineSpeed& speed : report.speeds) {
      if (speed.threads == line.rate.threads && name != numpy) {
        const Level level = name == tiled
                                ? Level::l2
                                : level_of(report.machine, footprint, speed.threads);
        line.ceiling = ceiling_of(cost, report.machine.lanes, speed, level);
      }
    }
    return line;
  }

  const SuiteOptions& options_;
  const std::function<void(const SuiteProgress&)>& tell_;
  std::vector<int> threads_;
  bool with_numpy_;
  scenarios::Scenario demo_;
  scenarios::Scenario layers_;
  double total_ = 1.0;
  double done_ = 0.0;
};

}  // namespace

const Line* Case::find(const std::string& name, int threads) const
{
  const auto found = std::ranges::find_if(lines, [&](const Line& line) {
    return line.rate.name == name && line.rate.threads == threads;
  });
  return found == lines.end() ? nullptr : &*found;
}

Report run_suite(const SuiteOptions& options,
                 const std::function<void(const SuiteProgress&)>& tell)
{
  return Runner(options, tell).run();
}

}  // namespace torsowave::bench
