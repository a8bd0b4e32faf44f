#include "app/run_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "app/text_table.hpp"

namespace torsowave::app {
namespace {

/// A power relative to what the source delivers [dB]; net power inward has no level.
[[nodiscard]] std::string level(double power, double source)
{
  return power > 0.0 && source > 0.0
             ? fmt::format("{:.2f}", 10.0 * std::log10(power / source))
             : "-";
}

[[nodiscard]] std::string power_table(const postproc::Result& result,
                                      std::size_t most_columns)
{
  const bool wave = result.source.kind == "plane wave";
  const std::string& unit = result.source.power_unit;
  TextTable table({{"frequency", "MHz"},
                   {wave ? "taken" : "delivered", unit},
                   {"absorbed", unit},
                   {"", "dB"},
                   {"leaves the body", unit},
                   {"", "dB"},
                   {wave ? "scattered" : "radiated", unit},
                   {"", "dB"},
                   {"residual", "1"}});
  for (const postproc::FrequencyResult& f : result.frequencies) {
    const auto power = [](double value) { return fmt::format("{:.4g}", value); };
    const auto& leaving = f.body_surface_power;
    table.add_row({fmt::format("{:.6g}", f.frequency * 1e-6), power(f.source_power),
                   power(f.absorbed_power), level(f.absorbed_power, f.source_power),
                   leaving ? power(*leaving) : "-",
                   leaving ? level(*leaving, f.source_power) : "-",
                   power(f.radiated_power), level(f.radiated_power, f.source_power),
                   fmt::format("{:.1e}", f.power_balance_residual)});
  }
  return table.text(most_columns);
}

/// The tissues that absorb most, in descending order.
[[nodiscard]] std::string absorbers(const postproc::FrequencyResult& f)
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

}  // namespace

std::string run_text(const postproc::Result& result, const std::string& folder,
                     std::size_t most_columns)
{
  const char* const taken =
      result.source.kind == "plane wave" ? "taken from the wave" : "delivered";
  std::string text = fmt::format(
      "{}\n\nPowers {} for 1 {} of {}, and relative to the power {}\n\n{}\nAbsorbed by "
      "tissue [% of the power {}]\n",
      result.title, result.mode == "1D" ? "per area" : "per metre of slice",
      result.source.unit, result.source.kind, taken, power_table(result, most_columns),
      taken);
  for (const postproc::FrequencyResult& f : result.frequencies) {
    text += absorbers(f);
  }
  text += fmt::format(
      "\n{} steps of {:.3g} ps on {} x {} cells in {:.1f} s: {:.0f} million cell updates "
      "a second ({}, {} threads)\nstopped: {}\nresults in {}\n\n{}\n",
      result.grid.steps, result.grid.time_step * 1e12, result.grid.nx, result.grid.ny,
      result.run.wall_seconds, result.run.cell_updates_per_second * 1e-6,
      result.run.instruction_set, result.run.threads, result.run.stopped_because, folder,
      postproc::caution);
  return text;
}

}  // namespace torsowave::app
