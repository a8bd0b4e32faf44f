#include "app/report_sweep.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <set>
#include <system_error>
#include <utility>

#include "app/report_parts.hpp"
#include "app/report_sweep_charts.hpp"
#include "app/sweep_report.hpp"
#include "postproc/read_error.hpp"
#include "postproc/sample_statistics.hpp"
#include "postproc/summary_values.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;
using postproc::Table;
using postproc::TableColumn;

constexpr std::size_t most_rows = 3000;  // more make a page slow
constexpr std::size_t most_columns = 3;  // of figures in charts

/// Columns that a page takes for granted, and whether they hold texts.
constexpr std::array<std::pair<const char*, bool>, 5> needed_columns{
    {{"case", false},
     {"id", true},
     {"status", true},
     {"frequency_hz", false},
     {"error", true}}};

[[nodiscard]] std::string text_of(const fs::path& path)
{
  std::ifstream file(path, std::ios::binary);
  if (!file) {
    throw postproc::ReadError(path.string() + ": cannot be read");
  }
  return {std::istreambuf_iterator<char>(file), {}};
}

[[nodiscard]] Table table_of(const fs::path& folder)
{
  const fs::path path = folder / "table.h5";
  std::error_code ignored;
  if (!fs::exists(path, ignored)) {
    throw postproc::ReadError(fmt::format(
        "{}: is not there yet: the sweep writes it at its end; \"torsowave sweep "
        "SWEEP.yaml -o {} --collect\" makes it of the cases that are done",
        path.string(), folder.string()));
  }
  Table table = postproc::read_table(path);
  for (const auto& [name, is_text] : needed_columns) {
    const TableColumn* column = table.find(name);
    if (column == nullptr || column->unit.empty() != is_text) {
      throw postproc::ReadError(fmt::format(
          "{}: has no column {} of {}; make it anew with \"torsowave sweep "
          "SWEEP.yaml -o {} --collect\"",
          path.string(), name, is_text ? "texts" : "numbers", folder.string()));
    }
  }
  return table;
}

/// Numbers of cases by what became of them.
[[nodiscard]] std::size_t cases_with(const Table& table, const std::string& status)
{
  std::set<double> cases;
  for (std::size_t r = 0; r < table.rows; ++r) {
    if (table.find("status")->texts[r] == status) {
      cases.insert(table.find("case")->numbers[r]);
    }
  }
  return cases.size();
}

[[nodiscard]] std::string number_text(double value)
{
  return std::isfinite(value) ? fmt::format("{:.6g}", value) : "";
}

[[nodiscard]] std::string cell_of(const TableColumn& column, std::size_t row)
{
  if (column.is_text()) {
    return column.texts[row];
  }
  return column.name == "frequency_hz" ? number_text(1e-6 * column.numbers[row])
                                       : number_text(column.numbers[row]);
}

/// Columns of the table that the page shows.
[[nodiscard]] std::vector<const TableColumn*> shown_columns(
    const Table& table, const std::vector<std::string>& figures)
{
  std::vector<const TableColumn*> shown{table.find("case"), table.find("status")};
  std::ranges::copy(varied_keys(table), std::back_inserter(shown));
  shown.push_back(table.find("frequency_hz"));
  for (const std::string& name : figures) {
    shown.push_back(table.find(name));
  }
  return shown;
}

[[nodiscard]] Json case_table(const Table& table, const std::vector<std::string>& figures)
{
  const auto shown = shown_columns(table, figures);
  std::vector<Column> columns;
  for (const TableColumn* column : shown) {
    const bool is_frequency = column->name == "frequency_hz";
    columns.push_back({is_frequency ? "frequency" : figure_name(column->name),
                       is_frequency          ? "MHz"
                       : column->unit == "1" ? ""
                                             : column->unit,
                       column->is_text() ? Align::left : Align::right});
  }
  TextTable text(columns);
  for (std::size_t r = 0; r < std::min(table.rows, most_rows); ++r) {
    std::vector<std::string> cells;
    cells.reserve(shown.size());
    for (const TableColumn* column : shown) {
      cells.push_back(cell_of(*column, r));
    }
    text.add_row(std::move(cells));
  }
  Json part = table_part(text, "Cases");
  part["sortable"] = true;
  return part;
}

[[nodiscard]] Json trouble_table(const Table& table)
{
  TextTable text(
      {{"case", ""}, {"status", "", Align::left}, {"what was wrong", "", Align::left}});
  for (std::size_t r = 0; r < table.rows; ++r) {
    if (table.find("status")->texts[r] != "done") {
      text.add_row({number_text(table.find("case")->numbers[r]),
                    table.find("status")->texts[r], table.find("error")->texts[r]});
    }
  }
  return table_part(text, "Cases without a result");
}

/// Median and range of the main figures at each frequency.
[[nodiscard]] Json sweep_cards(const Table& table,
                               const std::vector<std::string>& figures)
{
  Json cards = Json::array();
  for (const RowGroup& group : by_frequency(table)) {
    Json rows = Json::array();
    for (const std::string& name : figures) {
      const std::vector<double> values = values_in(*table.find(name), group.rows);
      if (values.empty()) {
        continue;
      }
      const auto s = postproc::sample_statistics(values);
      rows.push_back(
          {{"label", figure_name(name) + ", median"},
           {"value", fmt::format("{:.2f} {}", postproc::quantile(s.sorted, 0.5),
                                 table.find(name)->unit)},
           {"note", fmt::format("{:.2f} to {:.2f} in {} cases", s.sorted.front(),
                                s.sorted.back(), values.size())}});
    }
    cards.push_back({{"title", group.name}, {"figures", rows}, {"best", false}});
  }
  return cards;
}

[[nodiscard]] std::vector<std::string> sweep_answer(
    const Table& table, const std::vector<std::string>& figures)
{
  const std::size_t failed = cases_with(table, "failed");
  const std::size_t missing = cases_with(table, "missing");
  std::vector<std::string> answer{
      fmt::format("{} cases are done, {} failed, {} are missing.",
                  cases_with(table, "done"), failed, missing)};
  for (const RowGroup& group : by_frequency(table)) {
    if (figures.empty()) {
      break;
    }
    const TableColumn& column = *table.find(figures.front());
    std::vector<double> values = values_in(column, group.rows);
    if (!values.empty()) {
      const auto [low, high] = std::ranges::minmax_element(values);
      answer.push_back(fmt::format("At {}, the {} goes from {:.2f} to {:.2f} {}.",
                                   group.name, figure_name(column.name), *low, *high,
                                   column.unit));
    }
  }
  return answer;
}

[[nodiscard]] std::string question_of(const Table& table)
{
  std::string names;
  for (const TableColumn* key : varied_keys(table)) {
    names += (names.empty() ? "" : ", ") + key->name;
  }
  return fmt::format("What do loss and margins depend on, when these vary: {}?", names);
}

/// Which program made a case; empty where its folder or summary is not there. \param id
/// as the table has it, which may be anything
[[nodiscard]] std::string program_of(const fs::path& folder, const std::string& id)
{
  const fs::path path = folder / "cases" / id / "summary.json";
  std::error_code ignored;
  if (fs::path(id).filename() != id || !fs::is_regular_file(path, ignored)) {
    return "";
  }
  try {
    const auto summary = postproc::read_summary_values(text_of(path));
    return fmt::format("torsowave {}, revision {}", summary.tool_version,
                       summary.tool_revision);
  } catch (const postproc::SummaryError& error) {
    throw postproc::ReadError(
        fmt::format("{} {}; run the sweep again", path.string(), error.what()));
  }
}

/// Which program made the cases: that of the first one that is done.
[[nodiscard]] Json provenance_of(const fs::path& folder, const Table& table)
{
  TextTable text({{"", "", Align::left}, {"", "", Align::left}});
  const std::vector<std::string>& status = table.find("status")->texts;
  const auto done = std::ranges::find(status, "done");
  if (done != status.end()) {
    const auto row = static_cast<std::size_t>(done - status.begin());
    const std::string program = program_of(folder, table.find("id")->texts[row]);
    if (!program.empty()) {
      text.add_row({"program of the cases", program});
    }
  }
  text.add_row({"table", "table.h5 and table.csv in the folder of the sweep"});
  Json section = section_part("provenance", "Provenance", {});
  section["tables"].push_back(table_part(text, "Where the figures come from"));
  section["tables"].back()["pairs"] = true;
  return section;
}

[[nodiscard]] Json case_section(const Table& table,
                                const std::vector<std::string>& figures)
{
  Json section = section_part(
      "cases", "Cases", {"A row for each case and frequency. The heads sort the table."});
  section["tables"].push_back(case_table(table, figures));
  if (table.rows > most_rows) {
    section["text"].push_back(fmt::format(
        "The first {} of {} rows; table.csv has them all.", most_rows, table.rows));
  }
  if (cases_with(table, "failed") + cases_with(table, "missing") > 0) {
    section["tables"].push_back(trouble_table(table));
  }
  return section;
}

[[nodiscard]] Json sweep_sections(const fs::path& folder, const Table& table,
                                  const std::vector<std::string>& figures)
{
  std::vector<std::string> charted = figures;
  charted.resize(std::min(charted.size(), most_columns));
  Json sections = Json::array();
  sections.push_back(case_section(table, figures));
  Json effects = section_part("effects", "What the figures depend on", {});
  effects["charts"] = effect_charts(table, charted);
  if (!effects["charts"].empty()) {
    sections.push_back(effects);
  }
  Json spread = section_part(
      "spread", "How the figures are spread",
      {"Lines mark the 5th, 50th and 95th percentile. They tell a probability where the "
       "sweep draws at random; in a grid, how its own points lie."});
  spread["charts"] = spread_charts(table, charted);
  if (!spread["charts"].empty()) {
    spread["tables"].push_back(
        table_part(percentile_table(table, figures), "Percentiles"));
    sections.push_back(spread);
  }
  Json text = section_part("scenario", "Sweep", {"What was varied, as it was written."});
  text["listing"] = text_of(folder / "sweep.yaml");
  sections.push_back(text);
  sections.push_back(provenance_of(folder, table));
  return sections;
}

}  // namespace

bool holds_sweep(const fs::path& folder)
{
  std::error_code ignored;
  return fs::exists(folder / "sweep.yaml", ignored);
}

Json sweep_page(const fs::path& folder)
{
  const Table table = table_of(folder);
  std::vector<std::string> figures;
  for (const std::string& name : usual_columns(table)) {
    if (!table.find(name)->is_text()) {
      figures.push_back(name);
    }
  }
  Json page;
  std::string title = table.title;
  if (title.starts_with("sweep ")) {
    title.front() = 'S';
  }
  page["title"] = title;
  page["subtitle"] = fmt::format("{} cases, a row for each frequency",
                                 cases_with(table, "done") + cases_with(table, "failed") +
                                     cases_with(table, "missing"));
  page["question"] = question_of(table);
  page["answer"] = sweep_answer(table, figures);
  page["cards"] = sweep_cards(table, figures);
  page["sections"] = sweep_sections(folder, table, figures);
  return page;
}

}  // namespace torsowave::app
