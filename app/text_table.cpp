#include "app/text_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace torsowave::app {
namespace {

constexpr std::size_t gap = 2;  ///< blanks between columns

/// Characters of UTF-8: all bytes but the continuations.
std::size_t width_of(std::string_view text)
{
  return static_cast<std::size_t>(std::ranges::count_if(
      text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::vector<std::string> head_lines(const Column& column)
{
  std::vector<std::string> lines{""};
  for (const char c : column.head) {
    if (c == '\n') {
      lines.emplace_back();
    } else {
      lines.back() += c;
    }
  }
  if (!column.unit.empty()) {
    lines.push_back(fmt::format("[{}]", column.unit));
  }
  return lines;
}

void append_cell(std::string& line, std::string_view cell, std::size_t width, Align align)
{
  const std::string padding(width - width_of(cell), ' ');
  line += align == Align::right ? padding : "";
  line += cell;
  line += align == Align::left ? padding : "";
}

void end_line(std::string& text)
{
  text.erase(text.find_last_not_of(' ') + 1);
  text += '\n';
}

std::string csv_cell(const std::string& cell)
{
  if (cell.find_first_of("\",\r\n") == std::string::npos) {
    return cell;
  }
  std::string quoted = "\"";
  for (const char c : cell) {
    quoted += c == '"' ? "\"\"" : std::string(1, c);
  }
  return quoted + '"';
}

}  // namespace

TextTable::TextTable(std::vector<Column> columns) : columns_(std::move(columns))
{
  for (const Column& column : columns_) {
    std::size_t width = 0;
    for (const std::string& line : head_lines(column)) {
      width = std::max(width, width_of(line));
    }
    widths_.push_back(width);
  }
}

void TextTable::add_row(std::vector<std::string> cells)
{
  if (cells.size() != columns_.size()) {
    throw std::logic_error(fmt::format("a row of {} cells in a table of {} columns",
                                       cells.size(), columns_.size()));
  }
  for (std::size_t c = 0; c < cells.size(); ++c) {
    widths_[c] = std::max(widths_[c], width_of(cells[c]));
  }
  rows_.push_back(std::move(cells));
}

/// Column 0 and columns `first` to `last` - 1: heads, with their last lines level, a rule
/// and the rows.
std::string TextTable::block(std::size_t first, std::size_t last) const
{
  std::vector<std::size_t> shown{0};
  for (std::size_t c = first; c < last; ++c) {
    shown.push_back(c);
  }
  std::vector<std::vector<std::string>> heads;
  std::size_t height = 0;
  for (const std::size_t c : shown) {
    heads.push_back(head_lines(columns_[c]));
    height = std::max(height, heads.back().size());
  }
  std::string text;
  const auto add_line = [&](const auto& cell) {
    for (std::size_t k = 0; k < shown.size(); ++k) {
      text.append(k == 0 ? 0 : gap, ' ');
      append_cell(text, cell(k), widths_[shown[k]], columns_[shown[k]].align);
    }
    end_line(text);
  };
  for (std::size_t line = 0; line < height; ++line) {
    add_line([&](std::size_t k) -> std::string {
      const std::size_t skipped = height - heads[k].size();
      return line < skipped ? "" : heads[k][line - skipped];
    });
  }
  add_line([&](std::size_t k) { return std::string(widths_[shown[k]], '-'); });
  for (const std::vector<std::string>& row : rows_) {
    add_line([&](std::size_t k) { return row[shown[k]]; });
  }
  return text;
}

std::string TextTable::text(std::size_t most_columns) const
{
  std::string text;
  std::size_t first = std::min<std::size_t>(1, columns_.size());
  do {
    std::size_t last = first;
    std::size_t width = columns_.empty() ? 0 : widths_[0];
    while (last < columns_.size() &&
           (last == first || width + gap + widths_[last] <= most_columns)) {
      width += gap + widths_[last];
      ++last;
    }
    text += text.empty() ? "" : "\n";
    text += columns_.empty() ? "" : block(first, last);
    first = last;
  } while (first < columns_.size());
  return text;
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t most_columns)
{
  std::string result;
  std::string line(indent, ' ');
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const bool first = line.size() == indent;
    if (!first && line.size() + 1 + word.size() > most_columns) {
      result += line + '\n';
      line.assign(indent, ' ');
    } else {
      line += first ? "" : " ";
    }
    line += word;
  }
  return result + line + '\n';
}

std::string head_line(const Column& column)
{
  std::string head = column.head;
  std::ranges::replace(head, '\n', ' ');
  return column.unit.empty() ? head : fmt::format("{} [{}]", head, column.unit);
}

std::string csv_record(std::span<const std::string> cells)
{
  std::string record;
  for (std::size_t c = 0; c < cells.size(); ++c) {
    record += c == 0 ? "" : ",";
    record += csv_cell(cells[c]);
  }
  return record + '\n';
}

std::string csv_number(double value)
{
  return std::isfinite(value) ? fmt::format("{}", value) : "";
}

}  // namespace torsowave::app
