#include "app/run_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>
#include <vector>

#include "app/sar_report.hpp"
#include "app/text_table.hpp"
#include "postproc/link_around.hpp"
#include "postproc/uncertainty.hpp"

namespace torsowave::app {
namespace {

using postproc::FrequencyResult;
using postproc::Result;

[[nodiscard]] bool is_wave(const Result& result)
{
  return result.source.kind == "plane wave";
}

/// Longer lines of prose are hard to read [columns].
constexpr std::size_t legible = 100;

/// A power relative to what the source delivers [dB]; net power inward has no level.
[[nodiscard]] std::string level(double power, double source)
{
  if (!(power > 0.0 && source > 0.0)) {
    return "-";
  }
  const std::string text = fmt::format("{:.2f}", 10.0 * std::log10(power / source));
  return text == "-0.00" ? "0.00" : text;
}

/// An uncertainty [dB]; empty: not known.
[[nodiscard]] std::string spread(const std::optional<double>& db)
{
  return db && std::isfinite(*db) ? fmt::format("{:.2g}", *db) : "-";
}

[[nodiscard]] std::optional<double> item(const std::map<std::string, double>& items,
                                         const std::string& name)
{
  const auto found = items.find(name);
  return found == items.end() ? std::nullopt : std::optional(found->second);
}

/// Of the power delivered: its own grid error in the place of that of what leaves.
[[nodiscard]] std::optional<double> source_spread(const Result& result,
                                                  const FrequencyResult& f)
{
  const double all = postproc::combined_uncertainty(f.uncertainty_db).db;
  if (is_wave(result)) {
    return all;
  }
  const std::optional<double> own = item(f.grid_error_db, "source");
  return own ? std::optional(all - item(f.uncertainty_db, "grid").value_or(0.0) + *own)
             : std::nullopt;
}

[[nodiscard]] std::string frequency_text(const FrequencyResult& f)
{
  return fmt::format("{:.6g}", f.frequency * 1e-6);
}

/// Mode 1D: one share of the power, with its level and its uncertainty.
struct Share {
  std::string head;
  std::optional<double> value;
  std::optional<double> error_db;
};

[[nodiscard]] std::vector<Share> shares_of(const Result& result, const FrequencyResult& f)
{
  const postproc::LayerErrors errors = postproc::combined_layer_errors(f);
  const std::string& left = result.layers.front().tissue;
  const std::string& right = result.layers.back().tissue;
  std::vector<Share> shares;
  if (is_wave(result)) {
    shares.push_back({"reflected", f.slab->reflectance, errors.reflectance});
  } else {
    shares.push_back(
        {"into " + left + "\n(left)", f.slab->into_first, errors.into_first});
  }
  for (std::size_t n = 0; n < f.slab->absorbed_by_layer.size(); ++n) {
    shares.push_back({"absorbed in\n" + result.layers.at(n + 1).tissue,
                      f.slab->absorbed_by_layer[n], errors.absorbed_by_layer.at(n)});
  }
  if (is_wave(result)) {
    shares.push_back(
        {"into the\nlast medium", f.slab->transmittance, errors.transmittance});
  } else {
    shares.push_back(
        {"into " + right + "\n(right)", f.slab->into_last, errors.into_last});
  }
  return shares;
}

/// The tissues that absorb most, in descending order.
[[nodiscard]] std::string absorbers(const FrequencyResult& f)
{
  constexpr std::size_t most = 5;
  std::vector<std::pair<double, std::string>> order;
  for (const auto& [tissue, power] : f.absorbed_by_tissue) {
    order.emplace_back(-power, tissue);
  }
  std::sort(order.begin(), order.end());
  std::string text = fmt::format("{:>8.6g} MHz ", f.frequency * 1e-6);
  for (std::size_t t = 0; t < std::min(order.size(), most); ++t) {
    text += fmt::format(" {} {:.2f}", order[t].second,
                        -100.0 * order[t].first / f.source_power);
  }
  return text + "\n";
}

/// A label, and what is said of it in the lines to its right.
[[nodiscard]] std::string remark(const std::string& label, const std::string& text,
                                 std::size_t most_columns)
{
  constexpr std::size_t indent = 14;
  std::string lines = wrapped(text, indent, std::min(most_columns, legible));
  return lines.replace(0, label.size(), label);
}

/// A table below its explanation; empty without the table.
[[nodiscard]] std::string explained(const std::optional<TextTable>& table,
                                    const std::string& head, std::size_t most_columns)
{
  return table
             ? fmt::format("\n{}\n{}", wrapped(head, 0, std::min(most_columns, legible)),
                           table->text(most_columns))
             : "";
}

[[nodiscard]] std::string powers_text(const Result& result, std::size_t most_columns)
{
  const std::string per =
      fmt::format("for 1 {} of {}, and", result.source.unit, result.source.kind);
  if (!result.layers.empty()) {
    return fmt::format("Powers per area {} shares of the power {}\n\n{}", per,
                       is_wave(result) ? "that comes in" : "delivered",
                       layer_table(result).text(most_columns));
  }
  const char* const taken = is_wave(result) ? "taken from the wave" : "delivered";
  std::string text = fmt::format(
      "Powers per metre of slice {} relative to the power {}\n\n{}\nAbsorbed by tissue "
      "[% of the power {}]\n",
      per, taken, power_table(result).text(most_columns), taken);
  for (const FrequencyResult& f : result.frequencies) {
    text += absorbers(f);
  }
  return text + explained(far_field_table(result), far_field_head(result), most_columns) +
         explained(antenna_gain_table(result), antenna_gain_head, most_columns) +
         sar_text(result, most_columns);
}

[[nodiscard]] std::string error_text(const Result& result, std::size_t most_columns)
{
  std::string text;
  for (const auto& [label, said] : run_remarks(result)) {
    text += remark(label, said, most_columns);
  }
  return text;
}

}  // namespace

TextTable power_table(const Result& result)
{
  const bool wave = is_wave(result);
  const std::string& unit = result.source.power_unit;
  TextTable table({{"frequency", "MHz"},
                   {wave ? "taken" : "delivered", unit},
                   {"+-", "dB"},
                   {"absorbed", unit},
                   {"", "dB"},
                   {"leaves the body", unit},
                   {"", "dB"},
                   {wave ? "scattered" : "radiated", unit},
                   {"", "dB"},
                   {"+-", "dB"},
                   {"mostly", "", Align::left},
                   {"tissue data", "dB"},
                   {"residual", "1"}});
  for (const FrequencyResult& f : result.frequencies) {
    const auto power = [](double value) { return fmt::format("{:.4g}", value); };
    const auto& leaving = f.body_surface_power;
    const postproc::CombinedUncertainty all =
        postproc::combined_uncertainty(f.uncertainty_db);
    table.add_row(
        {frequency_text(f), power(f.source_power), spread(source_spread(result, f)),
         power(f.absorbed_power), level(f.absorbed_power, f.source_power),
         leaving ? power(*leaving) : "-", leaving ? level(*leaving, f.source_power) : "-",
         power(f.radiated_power), level(f.radiated_power, f.source_power), spread(all.db),
         all.dominant, spread(item(f.uncertainty_db, postproc::tissue_data_item)),
         fmt::format("{:.1e}", f.power_balance_residual)});
  }
  return table;
}

TextTable layer_table(const Result& result)
{
  std::vector<Column> columns{
      {"frequency", "MHz"},
      {is_wave(result) ? "incident" : "delivered", result.source.power_unit}};
  for (const Share& share : shares_of(result, result.frequencies.front())) {
    columns.push_back({share.head, "%"});
    columns.push_back({"", "dB"});
    columns.push_back({"+-", "dB"});
  }
  columns.push_back({"mostly", "", Align::left});
  columns.push_back({"tissue data", "dB"});
  columns.push_back({"residual", "1"});
  TextTable table(columns);
  for (const FrequencyResult& f : result.frequencies) {
    std::vector<std::string> row{frequency_text(f),
                                 fmt::format("{:.4g}", f.source_power)};
    for (const Share& share : shares_of(result, f)) {
      row.push_back(share.value ? fmt::format("{:.4g}", 100.0 * *share.value) : "-");
      row.push_back(share.value ? level(*share.value, 1.0) : "-");
      row.push_back(spread(share.error_db));
    }
    row.push_back(postproc::combined_uncertainty(f.uncertainty_db).dominant);
    row.push_back(spread(item(f.uncertainty_db, postproc::tissue_data_item)));
    row.push_back(fmt::format("{:.1e}", f.power_balance_residual));
    table.add_row(std::move(row));
  }
  return table;
}

std::optional<TextTable> far_field_table(const Result& result)
{
  const bool wave = is_wave(result);
  TextTable table(
      {{"frequency", "MHz"},
       {"strongest\ntowards", "deg"},
       {"intensity", fmt::format("{}/rad", result.source.power_unit)},
       {wave ? "over power\ntaken" : "gain", "dB"},
       {"directivity", "dB"},
       {wave ? "scattering\nwidth" : "over bare\nsource", wave ? "m" : "dB"}});
  for (const FrequencyResult& f : result.frequencies) {
    if (!f.far_field) {
      return std::nullopt;
    }
    const postproc::FarFieldResult& far = *f.far_field;
    const auto peak = std::ranges::max_element(far.intensity);
    const auto n = static_cast<std::size_t>(peak - far.intensity.begin());
    const double mean = std::accumulate(far.intensity.begin(), far.intensity.end(), 0.0) /
                        static_cast<double>(far.intensity.size());
    table.add_row({frequency_text(f), fmt::format("{:g}", result.far_angle_deg.at(n)),
                   fmt::format("{:.4g}", *peak), fmt::format("{:.2f}", far.gain_db[n]),
                   level(*peak, mean),
                   wave ? fmt::format("{:.4g}", far.scattering_width[n])
                        : fmt::format("{:.2f}", far.insertion_gain_db[n])});
  }
  return table;
}

std::string far_field_head(const Result& result)
{
  const bool wave = is_wave(result);
  return fmt::format(
      "Far field in its strongest direction; {} is 2 pi times the intensity over the "
      "power {}, directivity over the power {}",
      wave ? "over power taken" : "gain", wave ? "taken from the wave" : "delivered",
      wave ? "scattered" : "radiated");
}

std::optional<TextTable> antenna_gain_table(const Result& result)
{
  TextTable table({{"frequency", "MHz"},
                   {"best\ntowards", "deg"},
                   {"", "", Align::left},
                   {"gain", "dBi"},
                   {"worst\ntowards", "deg"},
                   {"", "", Align::left},
                   {"gain", "dBi"},
                   {"+-", "dB"},
                   {"mostly", "", Align::left},
                   {"tissue data", "dB"}});
  for (const FrequencyResult& f : result.frequencies) {
    if (!f.antenna_gain) {
      return std::nullopt;
    }
    const std::vector<double>& gain = f.antenna_gain->gain_dbi;
    const auto [low, high] = std::ranges::minmax_element(gain);
    const auto angle_of = [&](auto at) {
      return result.far_angle_deg.at(static_cast<std::size_t>(at - gain.begin()));
    };
    const double best = angle_of(high);
    const double worst = angle_of(low);
    const auto all = postproc::combined_uncertainty(f.antenna_gain->uncertainty_db);
    table.add_row(
        {frequency_text(f), fmt::format("{:g}", best), postproc::side_of_body(best),
         fmt::format("{:.2f}", *high), fmt::format("{:g}", worst),
         postproc::side_of_body(worst), fmt::format("{:.2f}", *low), spread(all.db),
         all.dominant,
         spread(item(f.antenna_gain->uncertainty_db, postproc::tissue_data_item))});
  }
  return table;
}

std::vector<std::pair<std::string, std::string>> run_remarks(const Result& result)
{
  std::vector<std::pair<std::string, std::string>> remarks{
      {"+-",
       "numerical error of the power it stands beside: Debye fit, grid, absorber, what "
       "was "
       "left in the grid, power balance, all added; the largest one is named"},
      {"tissue data",
       "10 % more permittivity or conductivity of each tissue, a judgement within "
       "published spreads; not in +-, and usually larger"}};
  if (result.refinement && result.layers.empty()) {
    remarks.emplace_back(
        "grid", fmt::format("extrapolated from a second run with cells of {:.4g} mm "
                            "({:.1f} s), order {:g} assumed",
                            result.refinement->cell * 1e3,
                            result.refinement->wall_seconds, result.refinement->order));
  }
  for (const std::string& note : result.notes) {
    remarks.emplace_back("note", note);
  }
  return remarks;
}

std::string run_text(const Result& result, const std::string& folder,
                     std::size_t most_columns)
{
  return fmt::format(
      "{}\n\n{}\n{}\n{} steps of {:.3g} ps on {} x {} cells in {:.1f} s: {:.0f} million "
      "cell updates a second ({}, {} threads)\nstopped: {}\nresults in {}\n\n{}\n",
      result.title, powers_text(result, most_columns), error_text(result, most_columns),
      result.grid.steps, result.grid.time_step * 1e12, result.grid.nx, result.grid.ny,
      result.run.wall_seconds, result.run.cell_updates_per_second * 1e-6,
      result.run.instruction_set, result.run.threads, result.run.stopped_because, folder,
      postproc::caution);
}

}  // namespace torsowave::app
