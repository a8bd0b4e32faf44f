#include "app/sweep_report.hpp"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <span>

#include "app/text_table.hpp"
#include "postproc/line_figure.hpp"
#include "postproc/result.hpp"
#include "postproc/sample_statistics.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/quantity.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] std::string chance_text(const postproc::Table& table, const Chance& chance)
{
  std::string text;
  const postproc::TableColumn& column = *table.find(chance.column);
  for (const RowGroup& group : by_frequency(table)) {
    const std::vector<double> values = values_in(column, group.rows);
    if (values.empty()) {
      continue;
    }
    const auto hits =
        static_cast<std::size_t>(std::ranges::count_if(values, [&](double v) {
          return chance.above ? v > chance.bound : v < chance.bound;
        }));
    const postproc::Share share = postproc::wilson_share(hits, values.size());
    text += fmt::format(
        "chance that {} {} {:g} {}at {}: {:.1f} % ({} of {}; 95 % interval {:.1f} to "
        "{:.1f} %)\n",
        chance.column, chance.above ? ">" : "<", chance.bound,
        column.unit == "1" ? "" : column.unit + " ", group.name, 100.0 * share.share,
        hits, values.size(), 100.0 * share.low, 100.0 * share.high);
  }
  return text;
}

/// The mean of `column` at each value of a key; every point itself if asked for.
[[nodiscard]] postproc::LineSeries effect_of(const postproc::TableColumn& key,
                                             const postproc::TableColumn& column,
                                             const RowGroup& group, bool every_point)
{
  postproc::LineSeries series;
  series.name = group.name;
  std::map<double, std::vector<double>> values;
  for (const std::size_t r : group.rows) {
    if (!std::isfinite(column.numbers[r]) || !std::isfinite(key.numbers[r])) {
      continue;
    }
    if (every_point) {
      series.x.push_back(key.numbers[r]);
      series.y.push_back(column.numbers[r]);
    } else {
      values[key.numbers[r]].push_back(column.numbers[r]);
    }
  }
  for (const auto& [x, of_it] : values) {
    series.x.push_back(x);
    series.y.push_back(postproc::sample_statistics(of_it).mean);
  }
  series.style = every_point ? postproc::LineStyle::dots : postproc::LineStyle::solid;
  return series;
}

/// "implant.position[1]" as part of a file's name.
[[nodiscard]] std::string file_part(std::string path)
{
  std::erase(path, ']');
  std::ranges::replace_if(
      path, [](char c) { return c == '[' || c == '/' || c == ' '; }, '-');
  return path;
}

}  // namespace

std::vector<RowGroup> by_frequency(const postproc::Table& table)
{
  constexpr std::size_t most = 8;
  std::map<double, std::vector<std::size_t>> rows;
  std::vector<std::size_t> all;
  const std::vector<double>& frequencies = table.find("frequency_hz")->numbers;
  for (std::size_t r = 0; r < table.rows; ++r) {
    if (std::isfinite(frequencies[r])) {
      rows[frequencies[r]].push_back(r);
      all.push_back(r);
    }
  }
  std::vector<RowGroup> groups;
  if (rows.size() > most) {
    groups.push_back({"all frequencies", all});
    return groups;
  }
  for (auto& [frequency, of_it] : rows) {
    groups.push_back(
        {scenarios::show_quantity(frequency, scenarios::Dimension::frequency), of_it});
  }
  return groups;
}

std::vector<double> values_in(const postproc::TableColumn& column,
                              const std::vector<std::size_t>& rows)
{
  std::vector<double> values;
  for (const std::size_t r : rows) {
    if (std::isfinite(column.numbers[r])) {
      values.push_back(column.numbers[r]);
    }
  }
  return values;
}

TextTable percentile_table(const postproc::Table& table,
                           const std::vector<std::string>& columns)
{
  TextTable text({{"column", "", Align::left},
                  {"frequency", "", Align::left},
                  {"cases", ""},
                  {"5 %", ""},
                  {"25 %", ""},
                  {"median", ""},
                  {"75 %", ""},
                  {"95 %", ""},
                  {"mean", ""},
                  {"standard\ndeviation", ""}});
  for (const std::string& name : columns) {
    const postproc::TableColumn& column = *table.find(name);
    for (const RowGroup& group : by_frequency(table)) {
      const std::vector<double> values = values_in(column, group.rows);
      if (values.empty()) {
        continue;
      }
      const postproc::SampleStatistics s = postproc::sample_statistics(values);
      std::vector<std::string> cells{
          column.unit == "1" ? name : fmt::format("{} [{}]", name, column.unit),
          group.name, fmt::format("{}", values.size())};
      for (const double share : {0.05, 0.25, 0.5, 0.75, 0.95}) {
        cells.push_back(fmt::format("{:.5g}", postproc::quantile(s.sorted, share)));
      }
      cells.push_back(fmt::format("{:.5g}", s.mean));
      cells.push_back(fmt::format("{:.3g}", s.deviation));
      text.add_row(std::move(cells));
    }
  }
  return text;
}

Chance parse_chance(const std::string& text)
{
  const std::size_t sign = text.find_first_of("<>");
  const auto refuse = [&]() -> Chance {
    throw CLI::ValidationError(fmt::format(
        "--chance: {} is no comparison; write a column of the table, > or < and a bare "
        "number in its unit, e.g. --chance \"loss_db < 60\"",
        scenarios::in_quotes(text)));
  };
  if (sign == std::string::npos) {
    return refuse();
  }
  Chance chance;
  chance.column = CLI::detail::trim_copy(text.substr(0, sign));
  chance.above = text[sign] == '>';
  try {
    chance.bound = scenarios::parse_number(CLI::detail::trim_copy(text.substr(sign + 1)));
  } catch (const scenarios::QuantityError&) {
    return refuse();
  }
  return chance;
}

std::vector<std::string> usual_columns(const postproc::Table& table)
{
  std::vector<std::string> columns;
  for (const postproc::TableColumn& column : table.columns) {
    const bool margin = column.name.ends_with("margin_db") ||
                        column.name.ends_with("margin_at_distance_db");
    if (margin || column.name == "loss_db" || column.name == "far_field.peak_gain_db") {
      columns.push_back(column.name);
    }
  }
  return columns;
}

void require_columns(const postproc::Table& table,
                     const std::vector<std::string>& columns)
{
  std::vector<std::string> names;
  for (const postproc::TableColumn& column : table.columns) {
    if (!column.is_text()) {
      names.push_back(column.name);
    }
  }
  for (const std::string& name : columns) {
    if (std::ranges::find(names, name) == names.end()) {
      throw CLI::ValidationError(
          fmt::format("{} is no column of numbers in the table{}; the heads of table.csv "
                      "name them all",
                      scenarios::in_quotes(name), scenarios::hint(name, names)));
    }
  }
}

std::string statistics_text(const postproc::Table& table,
                            const std::vector<std::string>& columns,
                            const std::vector<Chance>& chances, std::size_t most_columns)
{
  std::string text = percentile_table(table, columns).text(most_columns);
  for (const Chance& chance : chances) {
    text += chance_text(table, chance);
  }
  return text;
}

std::vector<std::string> draw_main_effects(const scenarios::SweepPlan& plan,
                                           const postproc::Table& table,
                                           const std::vector<std::string>& columns,
                                           const std::filesystem::path& folder)
{
  const bool random = plan.combination == scenarios::Combination::random;
  std::vector<std::string> files;
  const std::string shown = columns.empty() ? "" : columns.front();
  for (const scenarios::SweepKey& key : plan.keys) {
    const std::set<double> distinct(key.numbers.begin(), key.numbers.end());
    if (shown.empty() || !key.numeric || distinct.size() < 2) {
      continue;
    }
    const postproc::TableColumn& column = *table.find(shown);
    postproc::LineFigure figure;
    figure.title = fmt::format("{} against {}", shown, key.path);
    figure.subtitle = random ? "every case" : "mean over all other keys";
    figure.x.label =
        key.unit.empty() ? key.path : fmt::format("{} [{}]", key.path, key.unit);
    figure.y.label =
        column.unit == "1" ? shown : fmt::format("{} [{}]", shown, column.unit);
    figure.notes = {postproc::caution};
    for (const RowGroup& group : by_frequency(table)) {
      postproc::LineSeries series =
          effect_of(*table.find(key.path), column, group, random);
      if (!series.x.empty()) {
        figure.series.push_back(std::move(series));
      }
    }
    const double air = 0.02 * (*distinct.rbegin() - *distinct.begin());
    figure.x.range = {*distinct.begin() - air, *distinct.rbegin() + air};
    if (!figure.series.empty()) {
      files.push_back(fmt::format("effect-{}.png", file_part(key.path)));
      postproc::write_lines(figure, folder / files.back());
    }
  }
  return files;
}

}  // namespace torsowave::app
