#include "app/sar_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/sar_limits.hpp"

namespace torsowave::app {
namespace {

using postproc::FrequencyResult;
using postproc::Result;
using postproc::SarPeaks;
using postproc::SarSpot;

[[nodiscard]] bool is_wave(const Result& result)
{
  return result.source.kind == "plane wave";
}

[[nodiscard]] std::string figure(double value)
{
  return fmt::format("{:.4g}", value);
}

/// Watts with the prefix that fits.
[[nodiscard]] std::string watts(double power)
{
  return power >= 1.0    ? fmt::format("{:.3g} W", power)
         : power >= 1e-3 ? fmt::format("{:.3g} mW", power * 1e3)
                         : fmt::format("{:.3g} uW", power * 1e6);
}

/// Millimetres; no "-0.0".
[[nodiscard]] std::string millimetres(double length)
{
  const std::string text = fmt::format("{:.1f}", length * 1e3);
  return text == "-0.0" ? "0.0" : text;
}

/// Value, place and tissue.
void append(std::vector<std::string>& row, const std::optional<SarSpot>& spot)
{
  row.push_back(spot ? figure(spot->value) : "-");
  row.push_back(spot ? millimetres(spot->at.x) + ", " + millimetres(spot->at.y) : "-");
  row.push_back(spot ? spot->tissue : "-");
}

/// The largest of all frequencies.
[[nodiscard]] std::optional<double> worst(const Result& result,
                                          const postproc::SarLimit& limit)
{
  std::optional<double> most;
  for (const FrequencyResult& f : result.frequencies) {
    const auto found =
        postproc::largest_average(*f.sar, limit, f.frequency, is_wave(result));
    if (found && *found > most.value_or(0.0)) {
      most = found;
    }
  }
  return most;
}

/// The distance from which on values are carried over from the slice; 0: none are. Empty
/// where a frequency has no SAR.
[[nodiscard]] std::optional<double> away_from_of(const Result& result)
{
  double away_from = 0.0;
  for (const FrequencyResult& f : result.frequencies) {
    if (!f.sar) {
      return std::nullopt;
    }
    away_from = std::max(away_from, f.sar->away_from);
  }
  return away_from;
}

}  // namespace

std::optional<TextTable> sar_peak_table(const Result& result)
{
  const std::optional<double> known = away_from_of(result);
  if (!known) {
    return std::nullopt;
  }
  const double away_from = *known;
  const bool three = away_from > 0.0;
  std::vector<Column> columns{{"average, frequency", "", Align::left}};
  if (three) {
    columns.push_back({"beside\ncapsule", "(W/kg)/W"});
    columns.push_back({fmt::format("beyond\n{:.1f} mm", away_from * 1e3), "(W/kg)/W"});
    columns.push_back({"at", "mm"});
    columns.push_back({"in", "", Align::left});
  }
  columns.push_back({"slice", is_wave(result) ? "(W/kg)/(W/m2)" : "(W/kg)/(W/m)"});
  columns.push_back({"at", "mm"});
  columns.push_back({"in", "", Align::left});
  TextTable table(columns);
  using Spot = std::optional<SarSpot> SarPeaks::*;
  struct Row {
    const char* name;
    Spot spot;
    double beside;
  };
  for (const FrequencyResult& f : result.frequencies) {
    const postproc::CapsuleSar beside = f.sar->capsule.value_or(postproc::CapsuleSar{});
    for (const Row& row : {Row{"point", &SarPeaks::local, beside.local()},
                           Row{"1 g", &SarPeaks::one_gram, beside.one_gram},
                           Row{"10 g", &SarPeaks::ten_gram, beside.ten_gram}}) {
      std::vector<std::string> cells{
          fmt::format("{}, {:.6g} MHz", row.name, f.frequency * 1e-6)};
      if (three) {
        cells.push_back(f.sar->capsule ? figure(row.beside) : "-");
        append(cells, f.sar->away ? (*f.sar->away).*row.spot : std::nullopt);
      }
      append(cells, f.sar->slice.*row.spot);
      table.add_row(std::move(cells));
    }
  }
  return table;
}

std::string sar_peak_head(const Result& result)
{
  return away_from_of(result).value_or(0.0) > 0.0
             ? "Largest SAR at a point and over cubes of 1 g and 10 g, for 1 W delivered "
               "by the implant (beside its capsule; elsewhere an estimate), and in the "
               "slice for 1 W/m of source power"
             : fmt::format(
                   "Largest SAR at a point and over squares of the side of 1 g "
                   "and 10 g cubes, for 1 {} of {} power",
                   is_wave(result) ? "W/m2" : "W/m",
                   is_wave(result) ? "incident" : "source");
}

std::optional<TextTable> sar_limit_table(const Result& result)
{
  const bool wave = is_wave(result);
  std::vector<Column> columns{
      {"published figure", "", Align::left},
      {"over", "g"},
      {"", "W/kg"},
      {wave ? "reached at\nincident" : "reached at\ndelivered", wave ? "per m2" : ""}};
  const std::optional<double>& power = result.transmit_power;
  if (power) {
    columns.push_back({fmt::format("at {}", watts(*power)), "W/kg"});
    columns.push_back({"", "", Align::left});
  }
  columns.push_back({"source", "", Align::left});
  TextTable table(columns);
  bool any = false;
  for (const postproc::SarLimit& limit : postproc::sar_limits()) {
    const std::optional<double> average = worst(result, limit);
    if (!average) {
      continue;
    }
    any = true;
    std::vector<std::string> cells{
        std::string(limit.name), fmt::format("{:g}", limit.mass * 1e3),
        fmt::format("{:g}", limit.limit), watts(limit.limit / *average)};
    if (power) {
      const double there = *average * *power;
      cells.push_back(figure(there));
      cells.emplace_back(there > limit.limit ? "above this figure" : "below this figure");
    }
    cells.emplace_back(limit.source);
    table.add_row(std::move(cells));
  }
  return any ? std::optional(table) : std::nullopt;
}

std::string sar_text(const Result& result, std::size_t most_columns)
{
  constexpr std::size_t legible = 100;
  const std::size_t width = std::min(most_columns, legible);
  const std::optional<TextTable> peaks = sar_peak_table(result);
  if (!peaks) {
    return "";
  }
  std::string text =
      "\n" + wrapped(sar_peak_head(result), 0, width) + peaks->text(most_columns);
  if (const std::optional<TextTable> limits = sar_limit_table(result)) {
    text += "\n" + wrapped(sar_limit_head, 0, width) + limits->text(most_columns);
    for (const std::string_view note : postproc::sar_limit_notes()) {
      text += wrapped(note, 0, width);
    }
  }
  return text;
}

}  // namespace torsowave::app
