/// \file
/// \brief A table over many runs, and its form as HDF5.

#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "postproc/read_error.hpp"

namespace torsowave::postproc {

/// A column: numbers or texts, one for each row.
struct TableColumn {
  std::string name;
  std::string unit;  ///< "1" for pure numbers, "" for texts
  std::string long_name;
  std::vector<double> numbers;  ///< NaN: none
  std::vector<std::string> texts;

  [[nodiscard]] bool is_text() const noexcept { return !texts.empty(); }
};

/// Columns of equal length.
struct Table {
  std::string title;
  std::vector<TableColumn> columns;
  std::size_t rows = 0;

  /// The column with this name, or null.
  [[nodiscard]] const TableColumn* find(const std::string& name) const;
};

/// Reads a table that write_table() wrote.
/// \throws ReadError  No such file, no table of this program, a newer format, damaged.
[[nodiscard]] Table read_table(const std::filesystem::path& path);

/// Writes the table as HDF5 that netCDF-4 readers open as one labelled data set: the
/// dimension `row` and a variable for each column, with `units` and `long_name`. Whole or
/// not at all; the same table gives the same bytes.
/// \throws WriteError
void write_table(const std::filesystem::path& path, const Table& table);

}  // namespace torsowave::postproc
