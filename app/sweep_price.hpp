/// \file
/// \brief What a sweep would cost on this machine.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "app/sweep_runner.hpp"
#include "app/sweep_store.hpp"
#include "app/sweep_table.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::app {

/// Memory, time and state of a sweep, from a look at some of its cases.
struct SweepPrice {
  std::size_t cases = 0;
  std::size_t different = 0;  ///< by their complete input
  std::size_t finished = 0;   ///< of the different ones
  std::size_t failed = 0;
  std::size_t priced = 0;           ///< cases that the times are taken from
  std::uint64_t memory = 0;         ///< of the largest case, at most [bytes]
  double longest = 0.0;             ///< wall time of the longest case left [s]
  double all = 0.0;                 ///< of all that are left, one after the other [s]
  int jobs = 1;                     ///< cases at a time
  int threads = 1;                  ///< of each
  std::vector<std::string> faults;  ///< of the priced cases: these would fail

  [[nodiscard]] std::size_t left() const { return different - finished - failed; }
  /// Wall time of the whole sweep [s].
  [[nodiscard]] double seconds() const;
};

/// Plans up to eight of the cases that run_cases() would run and measures the stepper;
/// the others are taken in proportion to cells times steps.
[[nodiscard]] SweepPrice price_sweep(const scenarios::SweepPlan& plan,
                                     const SweepStore& store,
                                     const std::vector<SweepJob>& jobs,
                                     const SweepOptions& how);

/// Cases with their values, state, memory and time.
[[nodiscard]] std::string price_text(const scenarios::SweepPlan& plan,
                                     const SweepStore& store, const SweepPrice& price,
                                     std::size_t most_columns);
[[nodiscard]] std::string price_json(const SweepPrice& price);

/// What became of a sweep, for programs: cases, done, failed, missing, files.
[[nodiscard]] std::string outcome_json(const SweepCounts& counts,
                                       const std::filesystem::path& folder,
                                       const std::vector<std::string>& figures);

}  // namespace torsowave::app
