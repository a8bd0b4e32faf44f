#include "postproc/row_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "postproc/figure_check.hpp"
#include "postproc/figure_raster.hpp"
#include "postproc/figure_scale.hpp"
#include "postproc/line_figure.hpp"

namespace torsowave::postproc {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr double shown_span = 120.0;  // [dB]

[[nodiscard]] std::vector<double> millimetres(const Result& result, int stride = 1)
{
  std::vector<double> x;
  for (std::size_t i = 0; i < result.grid.x.size();
       i += static_cast<std::size_t>(stride)) {
    x.push_back(1e3 * result.grid.x[i]);
  }
  return x;
}

/// Whether cell i lies inside the absorbing layers.
[[nodiscard]] bool is_inside(const GridInfo& grid, std::size_t i)
{
  const auto margin = static_cast<std::size_t>(grid.absorbing_cells);
  return i >= margin && i + margin < grid.x.size();
}

/// The layers, pale tints that take turns so that neighbours differ; white for the first
/// one's medium.
[[nodiscard]] std::vector<LineBand> bands_of(const Result& result)
{
  constexpr Color light{226, 232, 240};
  constexpr Color dark{203, 213, 225};
  const double rim = (0.5 - result.grid.absorbing_cells) * result.grid.cell;
  const double low = result.grid.x.front() - rim;
  const double high = result.grid.x.back() + rim;
  std::vector<LineBand> bands;
  for (std::size_t i = 0; i < result.layers.size(); ++i) {
    const LayerInfo& layer = result.layers[i];
    const bool outside = layer.tissue == result.layers.front().tissue;
    const Color tint = outside ? Color{255, 255, 255} : i % 2 == 0 ? light : dark;
    bands.push_back({1e3 * std::max(low, layer.from), 1e3 * std::min(high, layer.to),
                     layer.tissue, tint});
  }
  return bands;
}

[[nodiscard]] LineFigure figure_of(const Result& result, const RowLine& line,
                                   std::string title)
{
  LineFigure figure;
  figure.title = std::move(title);
  figure.subtitle = describe(result);
  figure.x.label = fmt::format("{} [mm]", line.axis);
  figure.bands = bands_of(result);
  if (!figure.bands.empty()) {
    figure.x.range = {figure.bands.front().from, figure.bands.back().to};
  }
  if (result.implant) {
    figure.marks.push_back({1e3 * result.implant->x, source_name(result)});
  }
  if (result.scattered_rim) {
    figure.notes.push_back(scattered_note(result));
  }
  return figure;
}

/// Numbers of the frequencies that are drawn; a note where they are not all.
[[nodiscard]] std::vector<std::size_t> chosen_frequencies(const Result& result,
                                                          LineFigure& figure)
{
  const std::size_t count = result.frequencies.size();
  const std::size_t kept = std::min(count, most_row_curves);
  std::vector<std::size_t> numbers;
  for (std::size_t i = 0; i < kept; ++i) {
    numbers.push_back(kept == 1 ? 0 : i * (count - 1) / (kept - 1));
  }
  if (kept < count) {
    figure.notes.push_back(
        fmt::format("{} of {} frequencies; result.h5 has all of them.", kept, count));
  }
  return numbers;
}

/// A curve of a (frequency, x) array for each of the frequencies chosen.
template <class Value>
void add_frequencies(const Result& result, const std::vector<Value>& values,
                     double per_decade, LineFigure& figure)
{
  const std::size_t cells = result.grid.x.size();
  for (const std::size_t f : chosen_frequencies(result, figure)) {
    LineSeries series;
    series.name = frequency_text(result.frequencies[f].frequency);
    series.x = millimetres(result);
    for (std::size_t i = 0; i < cells; ++i) {
      const auto size = static_cast<double>(std::abs(values[f * cells + i]));
      series.y.push_back(!is_inside(result.grid, i) ? missing
                         : per_decade == 0.0        ? size
                         : size > 0.0               ? per_decade * std::log10(size)
                                                    : missing);
    }
    figure.series.push_back(std::move(series));
  }
}

/// One moment over x; the absorbing layers are gaps.
[[nodiscard]] LineSeries series_of(const Result& result, const Snapshot& moment,
                                   const SnapshotPlan& plan)
{
  LineSeries series;
  series.x = millimetres(result, plan.stride);
  for (std::size_t n = 0; n < moment.values.size(); ++n) {
    const std::size_t i = n * static_cast<std::size_t>(plan.stride);
    series.y.push_back(is_inside(result.grid, i) ? static_cast<double>(moment.values[n])
                                                 : missing);
  }
  return series;
}

/// Degrees, without a line where they go once around.
void draw_row_phases(const Result& result, const PhasorField& phasor,
                     const std::filesystem::path& path, const RowLine& line,
                     const Look& look)
{
  LineFigure figure =
      figure_of(result, line, fmt::format("Phase of {} {}", phasor.name, line.place));
  figure.y.label = "phase, exp(+jωt) [°]";
  figure.y.range = {-180.0, 180.0};
  const std::size_t cells = result.grid.x.size();
  for (const std::size_t f : chosen_frequencies(result, figure)) {
    LineSeries series;
    series.name = frequency_text(result.frequencies[f].frequency);
    double before = 0.0;
    for (std::size_t i = 0; i < cells; ++i) {
      const double phase = std::arg(std::complex<double>(phasor.values[f * cells + i])) *
                           180.0 / std::numbers::pi;
      if (!is_inside(result.grid, i)) {
        continue;
      }
      const double x = 1e3 * result.grid.x[i];
      if (std::abs(phase - before) > 180.0) {
        series.x.push_back(x);
        series.y.push_back(missing);
      }
      series.x.push_back(x);
      series.y.push_back(phase);
      before = phase;
    }
    figure.series.push_back(std::move(series));
  }
  write_lines(figure, path, look);
}

}  // namespace

std::string source_name(const Result& result)
{
  return result.mode == "1D" ? "sheet" : "implant";
}

std::string scattered_note(const Result& result)
{
  const bool left =
      *result.scattered_rim < 0.5 * (result.grid.x.front() + result.grid.x.back());
  return fmt::format(
      "{} of {:.4g} mm the field is the scattered one alone, without the "
      "incident wave.",
      left ? "Left" : "Right", 1e3 * *result.scattered_rim);
}

void draw_row_phasors(const Result& result, std::string_view field, Scale scale,
                      const std::filesystem::path& path, const RowLine& line,
                      const Look& look)
{
  const auto phasor = std::ranges::find(result.phasors, field, &PhasorField::name);
  if (phasor == result.phasors.end()) {
    throw std::invalid_argument(fmt::format("no phasor field {} in the result", field));
  }
  require_size(fmt::format("phasor field {}", field), phasor->values.size(),
               result.frequencies.size() * cell_count(result.grid));
  if (scale == Scale::phase) {
    draw_row_phases(result, *phasor, path, line, look);
    return;
  }
  LineFigure figure = figure_of(result, line, fmt::format("|{}| {}", field, line.place));
  const bool decibel = scale == Scale::decibel;
  figure.y.label = fmt::format("|{}| for 1 {} [{}{}]", field, result.source.unit,
                               decibel ? "dB re 1 " : "", phasor->units);
  if (decibel) {
    figure.y.widest_span = shown_span;
  }
  add_frequencies(result, phasor->values, decibel ? 20.0 : 0.0, figure);
  write_lines(figure, path, look);
}

void draw_row_sar(const Result& result, const std::filesystem::path& path,
                  const RowLine& line, const Look& look)
{
  require_size("SAR", result.sar.size(),
               result.frequencies.size() * cell_count(result.grid));
  const std::string unit = result.mode == "1D" ? "W/m²" : "W/m";
  LineFigure figure =
      figure_of(result, line,
                fmt::format("Specific absorption rate {}, per 1 {} of source power",
                            line.place, unit));
  figure.y.label = fmt::format("SAR [dB re 1 W/kg per {}]", unit);
  figure.y.widest_span = shown_span;
  add_frequencies(result, result.sar, 10.0, figure);
  figure.notes.emplace_back(caution);
  write_lines(figure, path, look);
}

void draw_row_snapshots(const Result& result, const std::vector<Snapshot>& moments,
                        const SnapshotPlan& plan, const std::filesystem::path& path,
                        const RowLine& line, const Look& look)
{
  LineFigure figure = figure_of(
      result, line, fmt::format("{} {} at a few moments", plan.field, line.place));
  figure.y.label = fmt::format("{} [{}]", plan.field, plan.units);
  for (const Snapshot& moment : moments) {
    figure.series.push_back(series_of(result, moment, plan));
    figure.series.back().name = fmt::format("{:.3f} ns", 1e9 * moment.time);
  }
  write_lines(figure, path, look);
}

Canvas draw_row_moment(const Result& result, const Snapshot& moment,
                       const SnapshotPlan& plan, double range, const std::string& title,
                       const RowLine& line, const Look& look)
{
  LineFigure figure = figure_of(result, line, title);
  figure.y.label = fmt::format("{} [{}]", plan.field, plan.units);
  figure.y.range = {-range, range};
  figure.series.push_back(series_of(result, moment, plan));
  return draw_lines(figure, look);
}

}  // namespace torsowave::postproc
