#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_frame.hpp"
#include "postproc/figure_png.hpp"
#include "postproc/figure_raster.hpp"

namespace torsowave::postproc {
namespace {

constexpr double decibel_span = 80.0;
constexpr double top_share = 0.999;       // keeps the source's own cells from the top
constexpr double snapshot_share = 0.995;  // of a wave's moment

/// Values over the slice with all that their map needs.
struct FieldMap {
  std::vector<double> values;  ///< one per sample, x fastest, row 0 lowest
  int stride = 1;
  ColorScale scale;
  Titles titles;
  bool light = false;  ///< the colours are mostly light, so outlines are dark
};

[[nodiscard]] Canvas render(const Result& result, const FieldMap& field)
{
  const GridInfo& grid = result.grid;
  const SliceLayout layout =
      slice_layout(grid, {.notes = static_cast<int>(field.titles.notes.size())});
  const Font font(find_font_file());
  Canvas canvas(layout.width, layout.height);
  CellColors cells{grid.nx, grid.ny, field.stride, {}};
  cells.colors.reserve(field.values.size());
  for (const double value : field.values) {
    cells.colors.push_back(field.scale.color_of(value));
  }
  paint_cells(canvas, layout.map, cells);
  if (!field.light) {
    Coverage rim(layout.width, layout.height);
    add_outlines(rim, layout.map, grid.nx, grid.ny, result.labels, 3.2);
    canvas.paint(rim, ink, 0.35, layout.map);
  }
  Coverage outlines(layout.width, layout.height);
  add_outlines(outlines, layout.map, grid.nx, grid.ny, result.labels, 1.2);
  canvas.paint(outlines, field.light ? ink : paper, field.light ? 0.6 : 0.85, layout.map);
  draw_slice_axes(canvas, font, layout);
  draw_implant(canvas, font, layout, result, false);
  draw_color_bar(canvas, font, layout.map, field.scale);
  draw_titles(canvas, font, field.titles);
  return canvas;
}

/// The finite values other than zero, which is where a field was never computed.
[[nodiscard]] std::vector<double> nonzero(const std::vector<double>& values)
{
  std::vector<double> kept_values;
  std::copy_if(values.begin(), values.end(), std::back_inserter(kept_values),
               [](double v) { return std::isfinite(v) && v != 0.0; });
  return kept_values;
}

[[nodiscard]] std::string signed_text(const std::string& text)
{
  return text.front() == '-' ? "−" + text.substr(1) : text;
}

/// Turns magnitudes into decibels in place and sets the colours for them.
/// \param factor  20 for fields, 10 for powers
/// \param zero    the colour of cells without a value
void use_decibels(FieldMap& map, double factor, const std::string& unit, Color zero)
{
  std::vector<double> present = nonzero(map.values);
  double top = 0.0;
  std::string extremes = "zero everywhere";
  if (!present.empty()) {
    const auto [low, high] = std::minmax_element(present.begin(), present.end());
    extremes = signed_text(fmt::format("{:.1f}", factor * std::log10(*low))) + " to " +
               signed_text(fmt::format("{:.1f} dB", factor * std::log10(*high)));
    const double level = factor * std::log10(percentile(present, top_share));
    top = 5.0 * std::ceil(level / 5.0 - 1e-9);
  }
  for (double& value : map.values) {
    value = value > 0.0 ? factor * std::log10(value)
                        : -std::numeric_limits<double>::infinity();
  }
  const Range range{top - decibel_span, top};
  map.scale.range = range;
  map.scale.label += fmt::format(" [dB re 1 {}]", unit);
  map.scale.color_of = [range, zero](double value) {
    if (std::isinf(value)) {
      return zero;
    }
    return sequential_color((value - range.low) / (range.high - range.low));
  };
  map.titles.subtitle += fmt::format("; in the slice {}", extremes);
}

void use_linear(FieldMap& map, const std::string& unit)
{
  std::vector<double> present = nonzero(map.values);
  std::string extreme = "zero everywhere";
  double top = 1.0;
  if (!present.empty()) {
    extreme = fmt::format("at most {:.4g} {}",
                          *std::max_element(present.begin(), present.end()), unit);
    top = round_up(percentile(present, top_share));
  }
  map.scale.range = {0.0, top};
  map.scale.label += fmt::format(" [{}]", unit);
  map.scale.color_of = [top](double value) { return sequential_color(value / top); };
  map.titles.subtitle += fmt::format("; in the slice {}", extreme);
}

[[nodiscard]] std::string per_source(const std::string& units, const Result& result)
{
  return fmt::format("{} per {}", units, result.source.unit);
}

[[nodiscard]] const PhasorField& find_phasor(const Result& result, std::string_view name)
{
  std::string known;
  for (const PhasorField& field : result.phasors) {
    if (field.name == name) {
      return field;
    }
    known += (known.empty() ? "" : ", ") + field.name;
  }
  throw std::invalid_argument(
      fmt::format("no phasor field {} in the result, which has {}", name,
                  known.empty() ? "none" : known));
}

/// Magnitudes of one frequency out of a (frequency, ny, nx) array.
template <typename Value>
[[nodiscard]] std::vector<double> magnitudes(const std::vector<Value>& values,
                                             std::size_t frequency, std::size_t cells)
{
  std::vector<double> result(cells);
  for (std::size_t i = 0; i < cells; ++i) {
    result[i] = static_cast<double>(std::abs(values[frequency * cells + i]));
  }
  return result;
}

/// Checks what every map at one frequency needs of the result.
void require_map(const Result& result, std::size_t frequency, std::string_view what,
                 std::size_t values)
{
  require_tissues(result);
  require_frequency(result, frequency);
  require_size(what, values, result.frequencies.size() * cell_count(result.grid));
}

}  // namespace

void draw_phasor(const Result& result, std::string_view field, std::size_t frequency,
                 Scale scale, const std::filesystem::path& path)
{
  const PhasorField& phasor = find_phasor(result, field);
  require_map(result, frequency, fmt::format("phasor field {}", field),
              phasor.values.size());
  FieldMap map;
  map.values = magnitudes(phasor.values, frequency, cell_count(result.grid));
  map.scale.label = fmt::format("|{}|", field);
  map.titles.title = fmt::format("|{}| at {}", field,
                                 frequency_text(result.frequencies[frequency].frequency));
  map.titles.subtitle = describe(result);
  if (scale == Scale::decibel) {
    use_decibels(map, 20.0, per_source(phasor.units, result), sequential_color(0.0));
  } else {
    use_linear(map, per_source(phasor.units, result));
  }
  write_png(render(result, map), path);
}

double symmetric_range(std::span<const float> values)
{
  std::vector<double> sizes;
  sizes.reserve(values.size());
  for (const float value : values) {
    if (std::isfinite(value) && value != 0.0F) {
      sizes.push_back(static_cast<double>(std::abs(value)));
    }
  }
  return sizes.empty() ? 1.0 : round_up(percentile(sizes, snapshot_share));
}

Canvas render_snapshot(const Result& result, const Snapshot& snapshot,
                       const SnapshotPlan& plan, std::optional<double> range)
{
  require_tissues(result);
  if (plan.stride < 1) {
    throw std::invalid_argument(
        fmt::format("the stride of snapshots must be >= 1, got {}", plan.stride));
  }
  const GridInfo& grid = result.grid;
  require_size("snapshot", snapshot.values.size(),
               static_cast<std::size_t>(kept(grid.nx, plan.stride)) *
                   static_cast<std::size_t>(kept(grid.ny, plan.stride)));
  const double bound = range ? *range : symmetric_range(snapshot.values);
  if (!std::isfinite(bound) || bound <= 0.0) {
    throw std::invalid_argument(
        fmt::format("the range of a snapshot must be finite and > 0, got {}", bound));
  }
  FieldMap map;
  map.values.assign(snapshot.values.begin(), snapshot.values.end());
  map.stride = plan.stride;
  map.scale = {{-bound, bound},
               fmt::format("{} [{}]", plan.field, plan.units),
               [bound](double value) { return diverging_color(value / bound); }};
  map.titles.title = fmt::format("{} at {:.3f} ns", plan.field, snapshot.time * 1e9);
  map.titles.subtitle = describe(result);
  map.light = true;
  return render(result, map);
}

void draw_snapshot(const Result& result, const Snapshot& snapshot,
                   const SnapshotPlan& plan, const std::filesystem::path& path,
                   std::optional<double> range)
{
  write_png(render_snapshot(result, snapshot, plan, range), path);
}

void draw_sar(const Result& result, std::size_t frequency,
              const std::filesystem::path& path)
{
  require_map(result, frequency, "SAR", result.sar.size());
  FieldMap map;
  map.values = magnitudes(result.sar, frequency, cell_count(result.grid));
  map.scale.label = "SAR";
  map.titles.title =
      fmt::format("Specific absorption rate at {}, per 1 W/m of source power",
                  frequency_text(result.frequencies[frequency].frequency));
  map.titles.subtitle = describe(result);
  map.titles.notes = {caution};
  use_decibels(map, 10.0, "W/kg per W/m", tissue_color(0));  // air absorbs nothing
  write_png(render(result, map), path);
}

}  // namespace torsowave::postproc
