/// \file
/// \brief What a sweep tells: statistics of random sweeps, chances, main effects.

#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/table_file.hpp"
#include "scenarios/sweep_plan.hpp"

namespace torsowave::app {

/// A column of the table and a bound, e.g. "loss_db < 60".
struct Chance {
  std::string column;
  bool above = true;   ///< asks for values above the bound, else below
  double bound = 0.0;  ///< in the column's unit
};

/// Reads "COLUMN > VALUE" or "COLUMN < VALUE".
/// \throws CLI::ValidationError  It is neither.
[[nodiscard]] Chance parse_chance(const std::string& text);

/// The columns that reports show where the user names none: loss, peak gain, and every
/// margin in dB.
[[nodiscard]] std::vector<std::string> usual_columns(const postproc::Table& table);

/// Columns that the user named.
/// \throws CLI::ValidationError  The table has no such column of numbers; names the
///         nearest.
void require_columns(const postproc::Table& table,
                     const std::vector<std::string>& columns);

/// Rows that belong together: those of one frequency, or all where there are too many.
struct RowGroup {
  std::string name;
  std::vector<std::size_t> rows;
};

/// By rising frequency; rows without one (no result) are in none.
[[nodiscard]] std::vector<RowGroup> by_frequency(const postproc::Table& table);

/// The finite values of a column in some rows.
[[nodiscard]] std::vector<double> values_in(const postproc::TableColumn& column,
                                            const std::vector<std::size_t>& rows);

/// Percentiles, mean and deviation of columns of numbers, at each frequency.
[[nodiscard]] TextTable percentile_table(const postproc::Table& table,
                                         const std::vector<std::string>& columns);

/// Percentiles of columns and chances with their 95 % intervals, at each frequency.
[[nodiscard]] std::string statistics_text(const postproc::Table& table,
                                          const std::vector<std::string>& columns,
                                          const std::vector<Chance>& chances,
                                          std::size_t most_columns);

/// Draws how the first of `columns` depends on each key of numbers: its mean over all
/// other keys or, for random sweeps, every case. \return  The files, in `folder`.
/// \throws postproc::WriteError, postproc::FontError
std::vector<std::string> draw_main_effects(const scenarios::SweepPlan& plan,
                                           const postproc::Table& table,
                                           const std::vector<std::string>& columns,
                                           const std::filesystem::path& folder);

}  // namespace torsowave::app
