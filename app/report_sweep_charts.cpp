#include "app/report_sweep_charts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <numeric>
#include <set>

#include "app/report_parts.hpp"
#include "app/sweep_report.hpp"
#include "postproc/sample_statistics.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;
using postproc::Table;
using postproc::TableColumn;

constexpr std::size_t most_texts = 12;  // bars of a chart

/// Values of a key, as texts or as numbers.
[[nodiscard]] std::string key_value(const TableColumn& key, std::size_t row)
{
  return key.is_text() ? key.texts[row] : fmt::format("{}", key.numbers[row]);
}

[[nodiscard]] std::size_t distinct_values(const TableColumn& key,
                                          const std::vector<std::size_t>& rows)
{
  std::set<std::string> values;
  for (const std::size_t r : rows) {
    values.insert(key_value(key, r));
  }
  return values.size();
}

/// Whether nearly every case has a value of its own: a mean by value would be the case.
[[nodiscard]] bool is_drawn(const TableColumn& key, const std::vector<RowGroup>& groups)
{
  return std::ranges::any_of(groups, [&](const RowGroup& group) {
    const std::size_t distinct = distinct_values(key, group.rows);
    return !key.is_text() && distinct > most_texts && 2 * distinct > group.rows.size();
  });
}

[[nodiscard]] Json effect_head(const char* type, const TableColumn& key,
                               const TableColumn& column, bool every_case)
{
  return {{"type", type},
          {"name", fmt::format("{} against {}", figure_name(column.name), key.name)},
          {"alt", fmt::format("{} of {} against {}, a series for each frequency",
                              every_case ? "Every case" : "Mean over all other keys",
                              figure_name(column.name), key.name)},
          {"unit", column.unit == "1" ? "" : column.unit},
          {"note", every_case ? "Every case." : "Mean over all other keys."},
          {"series", Json::array()}};
}

/// Points of one frequency: every case, or the mean at each value.
[[nodiscard]] Json points_of(const TableColumn& key, const TableColumn& column,
                             const RowGroup& group, bool every_case)
{
  Json points = Json::array();
  std::map<double, std::vector<double>> values;
  for (const std::size_t r : group.rows) {
    const double x = key.numbers[r];
    const double y = column.numbers[r];
    if (std::isfinite(x) && std::isfinite(y)) {
      every_case ? points.push_back({x, y}) : values[x].push_back(y);
    }
  }
  for (const auto& [x, of_it] : values) {
    points.push_back({x, postproc::sample_statistics(of_it).mean});
  }
  return points;
}

[[nodiscard]] std::string correlation_text(const TableColumn& key,
                                           const TableColumn& column,
                                           const RowGroup& group)
{
  std::vector<double> x;
  std::vector<double> y;
  for (const std::size_t r : group.rows) {
    if (std::isfinite(key.numbers[r]) && std::isfinite(column.numbers[r])) {
      x.push_back(key.numbers[r]);
      y.push_back(column.numbers[r]);
    }
  }
  const auto correlation = postproc::rank_correlation(x, y);
  return correlation ? fmt::format(" Rank correlation at {}: {:+.2f} ({} cases).",
                                   group.name, *correlation, x.size())
                     : "";
}

[[nodiscard]] Json number_effect(const TableColumn& key, const TableColumn& column,
                                 const std::vector<RowGroup>& groups)
{
  const bool every_case = is_drawn(key, groups);
  Json chart = effect_head("xy", key, column, every_case);
  chart["x"] = column_title(key);
  chart["y"] = column_title(column);
  std::string note = chart["note"];
  const auto colors = curve_colors(groups.size());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    chart["series"].push_back(
        {{"name", groups[g].name},
         {"color", color_part(colors[g])},
         {"dots", every_case},
         {"points", points_of(key, column, groups[g], every_case)}});
    note += every_case ? correlation_text(key, column, groups[g]) : "";
  }
  chart["note"] = note;
  return chart;
}

[[nodiscard]] Json text_effect(const TableColumn& key, const TableColumn& column,
                               const std::vector<RowGroup>& groups)
{
  Json chart = effect_head("groups", key, column, false);
  std::vector<std::string> texts;
  for (const RowGroup& group : groups) {
    for (const std::size_t r : group.rows) {
      if (std::ranges::count(texts, key.texts[r]) == 0) {
        texts.push_back(key.texts[r]);
      }
    }
  }
  chart["categories"] = texts;
  chart["linear"] = true;
  const auto colors = curve_colors(groups.size());
  for (std::size_t g = 0; g < groups.size(); ++g) {
    Json means = Json::array();
    for (const std::string& text : texts) {
      std::vector<std::size_t> rows;
      std::ranges::copy_if(groups[g].rows, std::back_inserter(rows),
                           [&](std::size_t r) { return key.texts[r] == text; });
      const std::vector<double> values = values_in(column, rows);
      means.push_back(values.empty() ? Json()
                                     : Json(postproc::sample_statistics(values).mean));
    }
    chart["series"].push_back(
        {{"name", groups[g].name}, {"color", color_part(colors[g])}, {"values", means}});
  }
  return chart;
}

[[nodiscard]] bool varies(const TableColumn& key, const std::vector<RowGroup>& groups)
{
  const auto several = [&](const RowGroup& group) {
    return distinct_values(key, group.rows) > 1;
  };
  const auto too_many = [&](const RowGroup& group) {
    return key.is_text() && distinct_values(key, group.rows) > most_texts;
  };
  return std::ranges::any_of(groups, several) && std::ranges::none_of(groups, too_many);
}

/// Equal classes over all frequencies: about the square root of the cases (common
/// practice, no published source).
[[nodiscard]] std::vector<double> class_edges(const std::vector<double>& values)
{
  const auto [low, high] = std::ranges::minmax_element(values);
  const double count =
      std::clamp(std::ceil(std::sqrt(static_cast<double>(values.size()))), 4.0, 30.0);
  const double from = *low < *high ? *low : *low - 0.5;
  const double to = *low < *high ? *high : *high + 0.5;
  std::vector<double> edges;
  for (double n = 0.0; n <= count; n += 1.0) {
    edges.push_back(from + (to - from) * n / count);
  }
  return edges;
}

[[nodiscard]] std::vector<int> class_counts(const std::vector<double>& values,
                                            const std::vector<double>& edges)
{
  std::vector<int> counts(edges.size() - 1, 0);
  for (const double value : values) {
    const auto above = std::upper_bound(edges.begin() + 1, edges.end() - 1, value);
    ++counts[static_cast<std::size_t>(above - edges.begin()) - 1];
  }
  return counts;
}

[[nodiscard]] std::vector<std::size_t> all_rows(const std::vector<RowGroup>& groups)
{
  std::vector<std::size_t> rows;
  for (const RowGroup& group : groups) {
    rows.insert(rows.end(), group.rows.begin(), group.rows.end());
  }
  return rows;
}

}  // namespace

std::vector<const TableColumn*> varied_keys(const Table& table)
{
  std::vector<const TableColumn*> keys;
  for (const TableColumn& column : table.columns) {
    std::vector<std::size_t> rows(table.rows);
    std::iota(rows.begin(), rows.end(), std::size_t{0});
    if (column.long_name == "varied key of the scenario" &&
        distinct_values(column, rows) > 1) {
      keys.push_back(&column);
    }
  }
  return keys;
}

std::string figure_name(const std::string& column)
{
  static const std::map<std::string, std::string> names{
      {"loss_db", "loss"},
      {"far_field.peak_gain_db", "peak gain"},
      {"link.margin_db", "margin of the link"},
      {"link.margin_back_db", "margin of the way back"}};
  const auto found = names.find(column);
  return found == names.end() ? column : found->second;
}

std::string column_title(const TableColumn& column)
{
  const std::string name = figure_name(column.name);
  return column.unit.empty() || column.unit == "1"
             ? name
             : fmt::format("{} [{}]", name, column.unit);
}

Json effect_charts(const Table& table, const std::vector<std::string>& columns)
{
  Json charts = Json::array();
  const std::vector<RowGroup> groups = by_frequency(table);
  for (const std::string& name : columns) {
    const TableColumn& column = *table.find(name);
    for (const TableColumn* key : varied_keys(table)) {
      if (varies(*key, groups)) {
        charts.push_back(key->is_text() ? text_effect(*key, column, groups)
                                        : number_effect(*key, column, groups));
      }
    }
  }
  return charts;
}

Json spread_charts(const Table& table, const std::vector<std::string>& columns)
{
  Json charts = Json::array();
  const std::vector<RowGroup> groups = by_frequency(table);
  const auto colors = curve_colors(groups.size());
  for (const std::string& name : columns) {
    const TableColumn& column = *table.find(name);
    const std::vector<double> all = values_in(column, all_rows(groups));
    if (all.empty()) {
      continue;
    }
    const std::vector<double> edges = class_edges(all);
    Json chart{
        {"type", "histogram"},
        {"name", "Distribution of the " + figure_name(name)},
        {"alt", "Steps: how many cases lie in each class of the " + figure_name(name)},
        {"x", column_title(column)},
        {"edges", edges},
        {"series", Json::array()}};
    for (std::size_t g = 0; g < groups.size(); ++g) {
      const std::vector<double> values = values_in(column, groups[g].rows);
      if (values.empty()) {
        continue;
      }
      const auto s = postproc::sample_statistics(values);
      chart["series"].push_back(
          {{"name", groups[g].name},
           {"color", color_part(colors[g])},
           {"counts", class_counts(values, edges)},
           {"marks",
            {postproc::quantile(s.sorted, 0.05), postproc::quantile(s.sorted, 0.5),
             postproc::quantile(s.sorted, 0.95)}}});
    }
    charts.push_back(chart);
  }
  return charts;
}

}  // namespace torsowave::app
