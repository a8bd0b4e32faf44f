/// \file
/// \brief The table of a sweep, from what is in its folder.

#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "app/sweep_store.hpp"
#include "postproc/table_file.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::app {

/// What became of the cases.
struct SweepCounts {
  std::size_t done = 0;
  std::size_t failed = 0;
  std::size_t missing = 0;
};

struct SweepTable {
  postproc::Table table;
  SweepCounts counts;
  std::vector<std::string> damaged;  ///< finished cases that are not whole: what is wrong
};

/// One row for each case and frequency, in the order of the sweep; a case without a
/// result has one row. Columns: case, id, status, the varied keys, frequency_hz, the
/// numbers of summary.json, error. It depends on the results alone, not on when, where or
/// in how many attempts they came about.
[[nodiscard]] SweepTable make_sweep_table(const scenarios::SweepPlan& plan,
                                          const SweepStore& store);

/// Writes it as comma-separated values: a line of heads with units, then the rows.
/// \throws postproc::WriteError
void write_table_csv(const std::filesystem::path& path, const postproc::Table& table);

}  // namespace torsowave::app
