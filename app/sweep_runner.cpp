#include "app/sweep_runner.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <deque>
#include <fstream>
#include <limits>
#include <set>
#include <system_error>
#include <thread>
#include <utility>

#include "app/case_process.hpp"
#include "app/exit_codes.hpp"
#include "app/machine_error.hpp"
#include "app/run_plan.hpp"
#include "app/stop_signal.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

using Clock = std::chrono::steady_clock;

[[nodiscard]] double seconds_since(Clock::time_point begin)
{
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

/// The errors in a log, one a line, without the folder that the case was run in.
[[nodiscard]] std::string errors_in(const std::filesystem::path& log)
{
  constexpr std::size_t longest = 2000;
  constexpr std::string_view mark = "error: ";
  const std::string folder = log.parent_path().string() + "/";
  std::ifstream stream(log);
  std::string text;
  for (std::string line; text.size() < longest && std::getline(stream, line);) {
    if (line.starts_with(mark)) {
      line.erase(0, mark.size());
      for (std::size_t at = line.find(folder); at != std::string::npos;
           at = line.find(folder)) {
        line.erase(at, folder.size());
      }
      text += line + "\n";
    }
  }
  return text;
}

/// A case that is being run.
struct Running {
  SweepJob job;
  CaseLock lock;
  CaseProcess process;
  bool resumed = false;  ///< it goes on from a checkpoint
  std::optional<ProcessEnd> end{};
};

/// The one loop of a sweep.
class Runner {
public:
  Runner(const scenarios::SweepPlan& plan, const SweepStore& store,
         const std::vector<SweepJob>& jobs, const SweepOptions& options)
      : plan_(plan), store_(store), options_(options), queue_(jobs.begin(), jobs.end())
  {
    progress_.total = jobs.size();
    for (const SweepJob& job : jobs) {
      work_left_ += job.work;
    }
  }

  SweepOutcome run()
  {
    while (!queue_.empty() || !running_.empty()) {
      if (StopSignal::requested()) {
        stop_all();
        return {progress_.done, progress_.failed, true};
      }
      const bool started = start_some();
      const bool collected = collect();
      report();
      pause(started || collected);
    }
    return {progress_.done, progress_.failed, false};
  }

private:
  enum class Begin { settled, started, elsewhere };

  /// Starts what fits. \return  Whether anything happened.
  bool start_some()
  {
    bool moved = false;
    std::size_t waiting = 0;  ///< at the front of the queue: run elsewhere
    if (Clock::now() < ask_again_) {
      return moved;
    }
    while (running_.size() < static_cast<std::size_t>(options_.jobs) &&
           waiting < queue_.size()) {
      const auto next =
          std::find_if(queue_.begin() + static_cast<long>(waiting), queue_.end(),
                       [&](const SweepJob& job) { return fits(job); });
      if (next == queue_.end()) {
        break;
      }
      const SweepJob job = *next;
      queue_.erase(next);
      if (begin(job) == Begin::elsewhere) {
        queue_.insert(queue_.begin(), job);
        ++waiting;
      } else {
        moved = true;
      }
    }
    if (waiting > 0 && waiting == queue_.size()) {
      ask_again_ = Clock::now() + std::chrono::milliseconds(200);
    }
    progress_.elsewhere = waiting;
    return moved;
  }

  [[nodiscard]] bool fits(const SweepJob& job) const
  {
    return running_.empty() ||
           job.memory <= options_.memory - std::min(options_.memory, memory_in_use_);
  }

  Begin begin(const SweepJob& job)
  {
    if (store_.is_finished(job.id)) {
      settle(job, progress_.done);
      return Begin::settled;
    }
    auto lock = store_.try_lock(job.id);
    if (!lock) {
      return Begin::elsewhere;
    }
    // Now that nobody else can end it, look again.
    const auto failure = store_.failure(job.id);
    if (store_.is_finished(job.id)) {
      settle(job, progress_.done);
      return Begin::settled;
    }
    if (failure && !tried_anew(job.id, *failure)) {
      settle(job, progress_.failed);
      return Begin::settled;
    }
    const std::string scenario = plan_.scenario_text(job.index);
    if (store_.has_result(job.id, scenario)) {  // the sweep above it was killed
      store_.accept(job.id);
      settle(job, progress_.done);
      return Begin::settled;
    }
    start(job, std::move(*lock), scenario);
    return Begin::started;
  }

  /// Whether a failure on record is another try's chance: once in a sweep.
  bool tried_anew(const std::string& id, const CaseFailure& failure)
  {
    return (options_.retry || failure.may_pass()) && tried_.insert(id).second;
  }

  void start(const SweepJob& job, CaseLock lock, const std::string& scenario)
  {
    tried_.insert(job.id);
    store_.prepare(job.id, scenario);
    const std::filesystem::path folder = store_.work(job.id);
    const bool resumed = store_.has_checkpoint(job.id);
    std::vector<std::string> arguments{"run",       (folder / "scenario.yaml").string(),
                                       "-o",        store_.work_result(job.id).string(),
                                       "--threads", std::to_string(options_.threads),
                                       "--quiet"};
    if (!options_.checkpoint.empty()) {
      arguments.insert(arguments.end(), {"--checkpoint", options_.checkpoint});
    }
    if (resumed) {
      arguments.emplace_back("--resume");
    }
    CaseProcess process(arguments, folder / "log.txt", lock.descriptor());
    running_.push_back({job, std::move(lock), std::move(process), resumed});
    memory_in_use_ += job.memory;
  }

  /// Takes in what has ended. \return  Whether anything has.
  bool collect()
  {
    bool moved = false;
    for (std::size_t k = 0; k < running_.size();) {
      Running& run = running_[k];
      run.end = run.process.poll();
      if (!run.end) {
        ++k;
        continue;
      }
      if (StopSignal::requested()) {
        return true;  // it may have ended by the same signal
      }
      take_in(run, *run.end);
      memory_in_use_ -= run.job.memory;
      running_.erase(running_.begin() + static_cast<long>(k));
      moved = true;
    }
    return moved;
  }

  void take_in(const Running& run, const ProcessEnd& end)
  {
    const SweepJob& job = run.job;
    const std::string scenario = plan_.scenario_text(job.index);
    if (end.code == 0 && end.signal == 0 && store_.has_result(job.id, scenario)) {
      store_.accept(job.id);
      settle(job, progress_.done);
      return;
    }
    if (end.code == exit_suspended) {  // somebody stopped that process alone
      queue_.push_back(job);
      return;
    }
    if (end.code == exit_input && run.resumed) {  // of another processor, or damaged
      store_.forget_checkpoint(job.id);
      queue_.push_back(job);
      return;
    }
    const std::filesystem::path log = store_.work(job.id) / "log.txt";
    CaseFailure failure{end.code, end.signal, errors_in(log)};
    if (end.code == 0 && end.signal == 0) {
      failure = {exit_fault, 0, "the run ended well and left no result"};
    }
    refuse_full_disk(failure);
    store_.record(job.id, failure);
    settle(job, progress_.failed);
    if (options_.announce) {
      options_.announce(fmt::format("case {} failed ({}): {}", job.index + 1,
                                    plan_.values_text(job.index), failure.line()));
    }
  }

  /// On a full disk all other cases would fail too.
  void refuse_full_disk(const CaseFailure& failure) const
  {
    constexpr std::uintmax_t too_little = 1U << 20U;
    std::error_code error;
    const auto space = std::filesystem::space(store_.folder(), error);
    if (failure.code == exit_machine && !error && space.available < too_little) {
      throw postproc::WriteError(fmt::format(
          "{}: the disk is full ({} KiB are free); free it and give the same command "
          "again: finished cases are kept",
          store_.folder().string(), space.available >> 10U));
    }
  }

  void settle(const SweepJob& job, std::size_t& counter)
  {
    ++counter;
    work_left_ -= job.work;
    if (tried_.contains(job.id)) {
      work_done_ += job.work;
    }
  }

  void stop_all()
  {
    for (const Running& run : running_) {
      run.process.stop();
    }
    for (Running& run : running_) {
      while (!run.end) {
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
        run.end = run.process.poll();
      }
      if (store_.has_result(run.job.id, plan_.scenario_text(run.job.index))) {
        store_.accept(run.job.id);
        settle(run.job, progress_.done);
      }
    }
    running_.clear();
  }

  void report()
  {
    progress_.running = running_.size();
    progress_.seconds_left =
        work_done_ > 0.0 ? seconds_since(begin_) * work_left_ / work_done_ : -1.0;
    if (options_.progress) {
      options_.progress(progress_);
    }
  }

  /// Briefly after an event, longer the longer nothing happens.
  void pause(bool moved)
  {
    last_event_ = moved ? Clock::now() : last_event_;
    const double seconds = std::clamp(0.1 * seconds_since(last_event_), 0.001, 0.05);
    if (!moved && (!queue_.empty() || !running_.empty())) {
      std::this_thread::sleep_for(std::chrono::duration<double>(seconds));
    }
  }

  const scenarios::SweepPlan& plan_;
  const SweepStore& store_;
  const SweepOptions& options_;
  std::deque<SweepJob> queue_;
  std::vector<Running> running_;
  std::set<std::string> tried_;  ///< ids that this sweep has started, or begun anew
  SweepProgress progress_;
  std::uint64_t memory_in_use_ = 0;  ///< [bytes]
  double work_left_ = 0.0;
  double work_done_ = 0.0;  ///< by this sweep
  Clock::time_point begin_ = Clock::now();
  Clock::time_point last_event_ = Clock::now();
  Clock::time_point ask_again_ = Clock::now();
};

/// Memory of a process beside its fields: libraries, pictures, buffers.
constexpr std::uint64_t process_memory = 96U << 20U;

}  // namespace

std::vector<SweepJob> jobs_of(const scenarios::SweepPlan& plan, std::size_t shard,
                              std::size_t shards)
{
  std::vector<SweepJob> jobs;
  std::set<std::string> seen;
  for (std::size_t c = shard; c < plan.cases.size(); c += shards) {
    const scenarios::SweepCase& one = plan.cases[c];
    if (!one.faults.empty() || !seen.insert(one.id).second) {
      continue;
    }
    SweepJob job{c, one.id, 0, 1.0};
    try {
      const auto scenario = scenarios::parse_scenario(plan.scenario_text(c), plan.base);
      const std::uint64_t fields = memory_bound(scenario);
      job.memory = fields + process_memory;
      // Cells times steps: those grow as the square root of the cells.
      job.work = std::pow(static_cast<double>(fields), 1.5);
    } catch (const MachineError&) {
      job.memory = std::numeric_limits<std::uint64_t>::max() / 2;  // fails by itself
    }
    jobs.push_back(std::move(job));
  }
  return jobs;
}

SweepOutcome run_cases(const scenarios::SweepPlan& plan, const SweepStore& store,
                       const std::vector<SweepJob>& jobs, const SweepOptions& options)
{
  const StopSignal stop;
  return Runner(plan, store, jobs, options).run();
}

}  // namespace torsowave::app
