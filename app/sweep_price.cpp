#include "app/sweep_price.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/clock_text.hpp"
#include "app/machine_error.hpp"
#include "app/price.hpp"
#include "app/run_plan.hpp"
#include "app/text_table.hpp"
#include "scenarios/input_error.hpp"
#include "scenarios/reader.hpp"

namespace torsowave::app {
namespace {

/// Measures some of the jobs and sets the times.
void price_times(const scenarios::SweepPlan& plan, const std::vector<SweepJob>& left,
                 SweepPrice& price)
{
  constexpr std::size_t most = 8;
  double seconds = 0.0;
  double work = 0.0;
  const std::size_t samples = std::min(most, left.size());
  for (std::size_t s = 0; s < samples; ++s) {
    const SweepJob& job = left[samples == 1 ? 0 : s * (left.size() - 1) / (samples - 1)];
    try {
      const RunPlan run =
          plan_run(scenarios::parse_scenario(plan.scenario_text(job.index), plan.base));
      seconds += price_of(run, price.threads).seconds;
      work += job.work;
      ++price.priced;
    } catch (const scenarios::InputError& error) {
      price.faults.push_back(fmt::format("case {} ({}): {}", job.index + 1,
                                         plan.values_text(job.index), error.what()));
    } catch (const MachineError& error) {
      price.faults.push_back(fmt::format("case {} ({}): {}", job.index + 1,
                                         plan.values_text(job.index), error.what()));
    }
  }
  for (const SweepJob& job : left) {
    const double own = work > 0.0 ? seconds * job.work / work : 0.0;
    price.all += own;
    price.longest = std::max(price.longest, own);
  }
}

[[nodiscard]] std::string state_of(const scenarios::SweepCase& one,
                                   const SweepStore& store)
{
  return !one.faults.empty()         ? "faulty"
         : store.is_finished(one.id) ? "done"
         : store.failure(one.id)     ? "failed"
                                     : "missing";
}

[[nodiscard]] std::string cases_text(const scenarios::SweepPlan& plan,
                                     const SweepStore& store, std::size_t most_columns)
{
  constexpr std::size_t most_rows = 40;
  std::vector<Column> columns{{"case", ""}};
  for (const scenarios::SweepKey& key : plan.keys) {
    columns.push_back({key.path, ""});
  }
  columns.push_back({"state", "", Align::left});
  TextTable table(columns);
  for (std::size_t c = 0; c < std::min(most_rows, plan.cases.size()); ++c) {
    std::vector<std::string> cells{fmt::format("{}", c + 1)};
    for (const scenarios::SweepKey& key : plan.keys) {
      cells.push_back(key.texts[c]);
    }
    cells.push_back(state_of(plan.cases[c], store));
    table.add_row(std::move(cells));
  }
  return table.text(most_columns) +
         (plan.cases.size() > most_rows
              ? fmt::format("... and {} more\n", plan.cases.size() - most_rows)
              : "");
}

}  // namespace

double SweepPrice::seconds() const
{
  return std::max(longest, all / jobs);
}

SweepPrice price_sweep(const scenarios::SweepPlan& plan, const SweepStore& store,
                       const std::vector<SweepJob>& jobs, const SweepOptions& how)
{
  SweepPrice price;
  price.cases = plan.cases.size();
  price.different = jobs.size();
  price.jobs = how.jobs;
  price.threads = how.threads;
  std::vector<SweepJob> left;
  for (const SweepJob& job : jobs) {
    const auto failure = store.failure(job.id);
    price.memory = std::max(price.memory, job.memory);
    if (store.is_finished(job.id)) {
      ++price.finished;
    } else if (failure && !failure->may_pass() && !how.retry) {
      ++price.failed;
    } else {
      left.push_back(job);
    }
  }
  price_times(plan, left, price);
  return price;
}

std::string price_text(const scenarios::SweepPlan& plan, const SweepStore& store,
                       const SweepPrice& price, std::size_t most_columns)
{
  std::string text = cases_text(plan, store, most_columns);
  text += fmt::format("\ncases       {}, {} different: {} done, {} failed, {} to run\n",
                      price.cases, price.different, price.finished, price.failed,
                      price.left());
  text += fmt::format("memory      at most {:.1f} MiB a case, {} at a time: {:.1f} MiB\n",
                      static_cast<double>(price.memory) / 0x1p20, price.jobs,
                      price.jobs * static_cast<double>(price.memory) / 0x1p20);
  if (price.priced > 0) {
    text += fmt::format(
        "time        about {} with {} at a time, {} thread{} each; the longest case {} "
        "(from {} case{} on this machine)\n",
        clock_text(price.seconds()), price.jobs, price.threads,
        price.threads == 1 ? "" : "s", clock_text(price.longest), price.priced,
        price.priced == 1 ? "" : "s");
  }
  return text;
}

std::string price_json(const SweepPrice& price)
{
  const nlohmann::ordered_json j{{"cases", price.cases},
                                 {"different", price.different},
                                 {"finished", price.finished},
                                 {"failed", price.failed},
                                 {"to_run", price.left()},
                                 {"jobs", price.jobs},
                                 {"threads", price.threads},
                                 {"memory_bytes_per_case", price.memory},
                                 {"estimated_wall_s", price.seconds()},
                                 {"estimated_longest_case_s", price.longest},
                                 {"faults", price.faults}};
  return j.dump(2) + "\n";
}

std::string outcome_json(const SweepCounts& counts, const std::filesystem::path& folder,
                         const std::vector<std::string>& figures)
{
  nlohmann::ordered_json j{
      {"cases", counts.done + counts.failed + counts.missing},
      {"done", counts.done},
      {"failed", counts.failed},
      {"missing", counts.missing},
      {"table", {(folder / "table.csv").string(), (folder / "table.h5").string()}},
      {"figures", nlohmann::ordered_json::array()}};
  for (const std::string& figure : figures) {
    j["figures"].push_back((folder / figure).string());
  }
  return j.dump(2) + "\n";
}

}  // namespace torsowave::app
