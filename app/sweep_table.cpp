#include "app/sweep_table.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>
#include <optional>
#include <unordered_map>

#include "app/text_table.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

/// Columns that grow row by row; numbers join as they first come up.
class TableBuilder {
public:
  explicit TableBuilder(const scenarios::SweepPlan& plan) : plan_(plan)
  {
    table_.title = fmt::format("sweep {}", plan.path.filename().string());
    add_column("case", "1", "number of the case, from 1");
    add_column("id", "", "folder of the case: hash of its complete input");
    add_column("status", "", "done, failed or missing");
    for (const scenarios::SweepKey& key : plan.keys) {
      add_column(key.path, key.numeric ? key.unit.empty() ? "1" : key.unit : "",
                 "varied key of the scenario");
    }
    add_column("frequency_hz", "Hz", "frequency of the result");
  }

  void add_result(std::size_t index, const postproc::SummaryValues& values)
  {
    for (const auto& at : values.frequencies) {
      begin_row(index, "done");
      put("frequency_hz", at.frequency);
      for (const postproc::NamedValue& value : at.values) {
        put(value);
      }
      for (const postproc::NamedValue& value : values.values) {
        put(value);
      }
    }
  }

  void add_without_result(std::size_t index, const std::string& status,
                          const std::string& error)
  {
    begin_row(index, status);
    errors_.back() = error;
  }

  [[nodiscard]] postproc::Table take()
  {
    add_column("error", "", "why a case failed");
    table_.columns.back().texts = errors_;
    for (postproc::TableColumn& column : table_.columns) {
      if (!column.is_text()) {
        column.numbers.resize(table_.rows, none);
      }
    }
    return std::move(table_);
  }

private:
  std::size_t add_column(const std::string& name, const std::string& unit,
                         const std::string& long_name)
  {
    const std::size_t at = table_.columns.size();
    table_.columns.push_back({name, unit, long_name, {}, {}});
    places_.emplace(name, at);
    return at;
  }

  void begin_row(std::size_t index, const std::string& status)
  {
    ++table_.rows;
    errors_.emplace_back();
    std::size_t column = 0;
    table_.columns[column++].numbers.push_back(static_cast<double>(index + 1));
    table_.columns[column++].texts.push_back(plan_.cases[index].id);
    table_.columns[column++].texts.push_back(status);
    for (const scenarios::SweepKey& key : plan_.keys) {
      if (key.numeric) {
        table_.columns[column++].numbers.push_back(key.numbers[index]);
      } else {
        table_.columns[column++].texts.push_back(key.texts[index]);
      }
    }
  }

  void put(const std::string& name, double value)
  {
    std::vector<double>& numbers = table_.columns[places_.at(name)].numbers;
    numbers.resize(table_.rows, none);
    numbers.back() = value;
  }

  void put(const postproc::NamedValue& value)
  {
    if (!places_.contains(value.name)) {
      add_column(value.name, value.unit, "number of summary.json");
    }
    put(value.name, value.value);
  }

  const scenarios::SweepPlan& plan_;
  postproc::Table table_;
  std::vector<std::string> errors_;
  std::unordered_map<std::string, std::size_t> places_;  ///< of columns, by name
};

[[nodiscard]] std::string first_fault(const scenarios::SweepCase& one)
{
  const std::string text = scenarios::InputError({one.faults.front()}).what();
  const std::size_t more = one.faults.size() - 1;
  return more == 0 ? text : fmt::format("{} (and {} more)", text, more);
}

[[nodiscard]] std::string cell_text(const postproc::TableColumn& column, std::size_t row)
{
  return column.is_text() ? column.texts[row] : csv_number(column.numbers[row]);
}

}  // namespace

SweepTable make_sweep_table(const scenarios::SweepPlan& plan, const SweepStore& store)
{
  SweepTable result;
  TableBuilder builder(plan);
  for (std::size_t c = 0; c < plan.cases.size(); ++c) {
    const scenarios::SweepCase& one = plan.cases[c];
    std::optional<CaseFailure> failure;
    if (!one.faults.empty()) {
      builder.add_without_result(c, "failed", first_fault(one));
      ++result.counts.failed;
    } else if (store.is_finished(one.id)) {
      try {
        builder.add_result(c, store.values(one.id, plan.scenario_text(c)));
        ++result.counts.done;
      } catch (const postproc::SummaryError& error) {
        result.damaged.push_back(
            fmt::format("{} {}", store.finished(one.id).string(), error.what()));
        builder.add_without_result(c, "missing", "");
        ++result.counts.missing;
      }
    } else if ((failure = store.failure(one.id))) {
      builder.add_without_result(c, "failed", failure->line());
      ++result.counts.failed;
    } else {
      builder.add_without_result(c, "missing", "");
      ++result.counts.missing;
    }
  }
  result.table = builder.take();
  return result;
}

void write_table_csv(const std::filesystem::path& path, const postproc::Table& table)
{
  std::vector<std::string> cells;
  for (const postproc::TableColumn& column : table.columns) {
    cells.push_back(head_line({column.name, column.unit == "1" ? "" : column.unit}));
  }
  std::string text = csv_record(cells);
  for (std::size_t row = 0; row < table.rows; ++row) {
    cells.clear();
    for (const postproc::TableColumn& column : table.columns) {
      cells.push_back(cell_text(column, row));
    }
    text += csv_record(cells);
  }
  postproc::write_atomically(path, text);
}

}  // namespace torsowave::app
