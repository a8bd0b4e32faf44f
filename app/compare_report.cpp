#include "app/compare_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {
namespace {

using postproc::ComparedQuantity;
using postproc::CompareResult;
using postproc::Difference;

constexpr std::size_t most_rows = 12;  ///< of the table over frequency

/// "+0.0123", "-2.1e-07".
[[nodiscard]] std::string small(double value)
{
  if (!std::isfinite(value)) {
    return "-";
  }
  return std::abs(value) >= 5e-5 || value == 0.0 ? fmt::format("{:+.4f}", value)
                                                 : fmt::format("{:+.1e}", value);
}

[[nodiscard]] std::string megahertz(double frequency)
{
  return fmt::format("{:.6g}", 1e-6 * frequency);
}

[[nodiscard]] std::string joined(const std::vector<std::string>& words,
                                 const char* between)
{
  std::string text;
  for (const std::string& word : words) {
    text += (text.empty() ? "" : between) + word;
  }
  return text;
}

/// "2.45 GHz", "2.45 GHz and 25 deg".
[[nodiscard]] std::string place_text(const CompareResult& result, const Difference& d)
{
  const std::string frequency =
      postproc::frequency_text(result.frequencies[frequency_of(result, d)]);
  const auto angle = angle_deg_of(result, d);
  return angle ? fmt::format("{} and {:.1f} deg", frequency, *angle) : frequency;
}

[[nodiscard]] bool has_field(const CompareResult& result)
{
  return std::ranges::any_of(result.quantities,
                             [](const ComparedQuantity& q) { return q.field; });
}

[[nodiscard]] bool has_phase(const CompareResult& result)
{
  return std::ranges::any_of(
      result.quantities, [](const ComparedQuantity& q) { return !q.phases_deg.empty(); });
}

[[nodiscard]] std::string run_line(const CompareResult& result)
{
  const postproc::GridInfo& grid = result.grid;
  const std::string cells = grid.ny == 1 ? fmt::format("{} cells", grid.nx)
                                         : fmt::format("{} x {} cells", grid.nx, grid.ny);
  return fmt::format(
      "{}, {} of 1 {}: {} steps on {} of {:.4g} mm in {:.1f} s; stopped: {}", result.mode,
      result.source.kind, result.source.unit, grid.steps, cells, 1e3 * grid.cell,
      result.run.wall_seconds, result.run.stopped_because);
}

/// The row of a quantity where it differs most.
[[nodiscard]] std::vector<std::string> largest_row(const CompareResult& result,
                                                   std::size_t q)
{
  const std::optional<Difference> d = largest_difference(result, q);
  std::vector<std::string> cells{result.quantities[q].name};
  const std::size_t rest =
      3 + result.parts.size() + (has_field(result) ? 1 : 0) + (has_phase(result) ? 1 : 0);
  if (!d) {
    cells.resize(1 + rest, "-");
    return cells;
  }
  cells.push_back(megahertz(result.frequencies[frequency_of(result, *d)]));
  if (has_field(result)) {
    const auto angle = angle_deg_of(result, *d);
    cells.push_back(angle ? fmt::format("{:.1f}", *angle) : "");
  }
  cells.push_back(fmt::format("{:.2f}", d->level_db));
  cells.push_back(small(d->total_db));
  for (const double part : d->parts_db) {
    cells.push_back(small(part));
  }
  if (has_phase(result)) {
    cells.push_back(d->phase_deg ? small(*d->phase_deg) : "");
  }
  return cells;
}

[[nodiscard]] std::string largest_table(const CompareResult& result,
                                        std::size_t most_columns)
{
  std::vector<Column> columns{{"quantity", "", Align::left}, {"at", "MHz"}};
  if (has_field(result)) {
    columns.push_back({"angle", "deg"});
  }
  columns.push_back({"level", "dB"});
  columns.push_back({"difference", "dB"});
  for (const std::string& part : result.parts) {
    columns.push_back({"of it\n" + part, "dB"});
  }
  if (has_phase(result)) {
    columns.push_back({"phase", "deg"});
  }
  TextTable table(std::move(columns));
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    table.add_row(largest_row(result, q));
  }
  return table.text(most_columns);
}

/// Where each part is largest, whatever the others are.
[[nodiscard]] std::string parts_table(const CompareResult& result,
                                      std::size_t most_columns)
{
  TextTable table({{"part", "", Align::left},
                   {"largest", "dB"},
                   {"quantity", "", Align::left},
                   {"at", "", Align::left}});
  for (std::size_t p = 0; p < result.parts.size(); ++p) {
    std::optional<Difference> largest;
    for (std::size_t q = 0; q < result.quantities.size(); ++q) {
      const auto here = largest_difference(result, q, p);
      if (here &&
          (!largest || std::abs(here->parts_db[p]) > std::abs(largest->parts_db[p]))) {
        largest = here;
      }
    }
    if (largest) {
      table.add_row({result.parts[p], small(largest->parts_db[p]),
                     result.quantities[largest->quantity].name,
                     place_text(result, *largest)});
    }
  }
  return table.text(most_columns);
}

/// Frequencies that the table shows, first and last among them.
[[nodiscard]] std::vector<std::size_t> shown_frequencies(const CompareResult& result)
{
  const std::size_t count = result.frequencies.size();
  const std::size_t kept = std::min(count, most_rows);
  std::vector<std::size_t> numbers;
  for (std::size_t i = 0; i < kept; ++i) {
    numbers.push_back(kept == 1 ? 0 : i * (count - 1) / (kept - 1));
  }
  return numbers;
}

/// The run's powers in dB, and how much that is more than the first model has.
[[nodiscard]] std::string powers_table(const CompareResult& result,
                                       std::size_t most_columns)
{
  std::vector<Column> columns{{"frequency", "MHz"}};
  std::vector<std::size_t> powers;
  for (std::size_t q = 0; q < result.quantities.size(); ++q) {
    const ComparedQuantity& quantity = result.quantities[q];
    if (!quantity.field) {
      powers.push_back(q);
      const bool share = quantity.unit == "1";
      columns.push_back({quantity.name, share ? "dB" : "dB re 1 " + quantity.unit});
      columns.push_back({"difference", "dB"});
    }
  }
  TextTable table(std::move(columns));
  for (const std::size_t f : shown_frequencies(result)) {
    std::vector<std::string> cells{megahertz(result.frequencies[f])};
    for (const std::size_t q : powers) {
      const ComparedQuantity& quantity = result.quantities[q];
      const double level = decibels(quantity, quantity.values.back()[f]);
      cells.push_back(std::isfinite(level) ? fmt::format("{:.2f}", level) : "-");
      cells.push_back(small(difference_at(result, q, f).total_db));
    }
    table.add_row(std::move(cells));
  }
  return table.text(most_columns);
}

/// How the grid's part falls with the cell: docs/validation.md, "compare".
[[nodiscard]] std::string order_of_cells(const CompareResult& result)
{
  const std::string square =
      "smaller cells bring it down, with the square of grid.cell where no perfect "
      "conductor is near";
  return result.mode == "TEz"
             ? square + " (the shares of thin layers in the heat about in proportion)"
             : square;
}

/// What brings a part down.
[[nodiscard]] std::string remedy(const CompareResult& result, const std::string& part)
{
  const std::string end = fmt::format(
      "what the run missed when it stopped is at most about {:.2g} dB of a "
      "field at its strongest",
      result.end_error_db);
  if (part == "fit") {
    return "the Debye fit of the tissues, at most " +
           fmt::format("{:.2g}", 100.0 * result.fit_max_relative_error) +
           " % off their permittivity over its band; a smaller materials.fit.max_error, "
           "more poles or a narrower band bring it down";
  }
  if (part == "grid") {
    return fmt::format("the grid; {}", order_of_cells(result));
  }
  if (part == "rest") {
    return "what is neither fit nor grid: what was left when the run stopped, the "
           "absorber, rounding. A longer duration or decay, more grid.absorbing_cells "
           "or precision: double bring it down; " +
           end;
  }
  return fmt::format(
      "the grid, and what is left beside it (end of the run, absorber, rounding); {}; {}",
      order_of_cells(result), end);
}

}  // namespace

std::string verdict_text(const CompareResult& result)
{
  const std::optional<Difference> d = largest_difference(result);
  if (!d) {
    return "Verdict: no quantity is above the level from which on differences count.";
  }
  const ComparedQuantity& quantity = result.quantities[d->quantity];
  std::vector<std::string> parts;
  for (std::size_t p = 0; p < result.parts.size(); ++p) {
    parts.push_back(fmt::format("{} {} dB", result.parts[p], small(d->parts_db[p])));
  }
  return fmt::format(
      "Verdict: the run and the exact {} differ by {:.2g} dB at most: {} dB in \"{}\" at "
      "{}, "
      "where the level is {:.1f} dB. Of it: {}. The cause is {}.",
      result.exact, std::abs(d->total_db), small(d->total_db), quantity.name,
      place_text(result, *d), d->level_db, joined(parts, ", "),
      remedy(result, result.parts[d->cause()]));
}

std::string compare_text(const CompareResult& result, std::size_t most_columns)
{
  std::string text = result.title.empty() ? "" : result.title + "\n\n";
  text += wrapped(joined(result.bodies, " | "), 0, most_columns);
  text += wrapped(run_line(result), 0, most_columns);
  text += fmt::format(
      "\nRun minus exact {} of the tissues' own media, where each quantity differs "
      "most\n\n{}\nEach part where it is largest\n\n{}\n",
      result.exact, largest_table(result, most_columns),
      parts_table(result, most_columns));
  text += fmt::format("Powers of the run over frequency\n\n{}\n",
                      powers_table(result, most_columns));
  return text +
         wrapped(verdict_text(result), 0, std::min<std::size_t>(most_columns, 100));
}

std::string compare_notes(const CompareResult& result, std::size_t most_columns)
{
  std::vector<std::string> notes;
  const bool planar = std::ranges::count(result.models, "grid") > 0;
  notes.push_back(fmt::format(
      "fit: fitted Debye media in place of the tissues' own, both exact. {}",
      planar
          ? "grid: those media on the numerical grid, exact too, minus the same without "
            "a grid. rest: the run minus the exact answer on the grid."
          : "grid and rest: the run minus the exact answer for the fitted media."));
  for (const ComparedQuantity& quantity : result.quantities) {
    if (quantity.field) {
      notes.push_back(fmt::format(
          "{}: at {} angles on a circle of {:.4g} mm about the body's centre, at the "
          "centres of cells. It counts where it is less than {:.0f} dB below its largest "
          "value there.",
          quantity.name, result.angles_deg.size(), 1e3 * result.circle_radius,
          -quantity.counts_above_db));
      break;
    }
  }
  notes.push_back(
      fmt::format("A power counts where it is above -40 dB of {}.",
                  result.source.kind == "plane wave"
                      ? (planar ? "the incident power" : "the power taken from the wave")
                      : "the power delivered"));
  for (const std::string& text : result.left_out) {
    notes.push_back("Left out: " + text + ".");
  }
  notes.emplace_back(postproc::caution);
  std::string text;
  for (const std::string& note : notes) {
    text += wrapped(note, 0, most_columns);
  }
  return text;
}

}  // namespace torsowave::app
