/// \file
/// \brief Tables for people and for spreadsheets.

#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace torsowave::app {

/// How the cells of a column stand under their head.
enum class Align { left, right };

/// The head of a column.
struct Column {
  std::string head;  ///< may have several lines
  std::string unit;  ///< shown in brackets below; empty: none
  Align align = Align::right;
};

/// Aligned columns of text; widths count characters of UTF-8, each taken as one wide.
class TextTable {
public:
  explicit TextTable(std::vector<Column> columns);

  /// \throws std::logic_error  Not one cell for each column.
  void add_row(std::vector<std::string> cells);

  /// The table with a line end after each row, and no blanks there.
  ///
  /// Where it is wider than `most_columns`, the columns are spread over several blocks,
  /// one below the other, that all begin with the first column.
  [[nodiscard]] std::string text(std::size_t most_columns) const;

  [[nodiscard]] const std::vector<Column>& columns() const noexcept { return columns_; }

  /// Cells as they were added, row by row.
  [[nodiscard]] const std::vector<std::vector<std::string>>& rows() const noexcept
  {
    return rows_;
  }

private:
  [[nodiscard]] std::string block(std::size_t first, std::size_t last) const;

  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
  std::vector<std::size_t> widths_;
};

/// Breaks a text at blanks into lines of at most `most_columns` bytes where its words
/// allow, each after `indent` blanks and with a line end.
[[nodiscard]] std::string wrapped(std::string_view text, std::size_t indent,
                                  std::size_t most_columns);

/// The head of a column on one line, e.g. "phase constant [rad/m]".
[[nodiscard]] std::string head_line(const Column& column);

/// One record of comma-separated values, quoted where needed, with LF as its line end.
/// \see Y. Shafranovich, Common Format and MIME Type for CSV Files, RFC 4180, 2005.
[[nodiscard]] std::string csv_record(std::span<const std::string> cells);

/// All digits that tell a number from its neighbours; nothing where it is not finite.
[[nodiscard]] std::string csv_number(double value);

}  // namespace torsowave::app
