#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "postproc/field_picture.hpp"
#include "postproc/figure.hpp"
#include "postproc/figure_check.hpp"
#include "postproc/figure_png.hpp"

namespace torsowave::postproc {
namespace {

constexpr double decibel_span = 80.0;
constexpr double top_share = 0.999;  // keeps the source's own cells from the top

/// Values over the slice with all that their map needs.
struct FieldMap {
  std::vector<double> values;  ///< one per sample, x fastest, row 0 lowest
  ColorScale scale;
  Titles titles;
};

void draw(const Result& result, const FieldMap& map, const std::filesystem::path& path,
          const Look& look)
{
  const FieldPicture picture(result, 1, map.scale, map.titles, MapTone::dark, look);
  write_png(picture.paint(map.values), path);
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

/// Degrees, counter-clockwise from -180, as exp(+j w t) has them.
void use_phases(FieldMap& map, const PhasorField& phasor, std::size_t frequency,
                std::size_t cells)
{
  for (std::size_t i = 0; i < cells; ++i) {
    map.values.push_back(
        std::arg(std::complex<double>(phasor.values[frequency * cells + i])) * 180.0 /
        std::numbers::pi);
  }
  map.scale.range = {-180.0, 180.0};
  map.scale.label = "phase [°]";
  for (const int degrees : {-180, -90, 0, 90, 180}) {
    map.scale.ticks.push_back(
        {static_cast<double>(degrees), signed_text(fmt::format("{}", degrees))});
  }
  map.scale.color_of = [](double value) { return cyclic_color(value / 360.0); };
  map.titles.subtitle += "; exp(+jωt), at the source’s phase 0";
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
                 Scale scale, const std::filesystem::path& path, const Look& look)
{
  const PhasorField& phasor = find_phasor(result, field);
  require_map(result, frequency, fmt::format("phasor field {}", field),
              phasor.values.size());
  FieldMap map;
  const std::string at = frequency_text(result.frequencies[frequency].frequency);
  map.titles.subtitle = describe(result);
  if (scale == Scale::phase) {
    use_phases(map, phasor, frequency, cell_count(result.grid));
    map.titles.title = fmt::format("Phase of {} at {}", field, at);
    draw(result, map, path, look);
    return;
  }
  map.values = magnitudes(phasor.values, frequency, cell_count(result.grid));
  map.scale.label = fmt::format("|{}|", field);
  map.titles.title = fmt::format("|{}| at {}", field, at);
  if (scale == Scale::decibel) {
    use_decibels(map, 20.0, per_source(phasor.units, result), sequential_color(0.0));
  } else {
    use_linear(map, per_source(phasor.units, result));
  }
  draw(result, map, path, look);
}

void draw_sar(const Result& result, std::size_t frequency,
              const std::filesystem::path& path, const Look& look)
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
  // Air absorbs nothing.
  use_decibels(map, 10.0, "W/kg per W/m", tissue_on(look.theme, 0));
  draw(result, map, path, look);
}

}  // namespace torsowave::postproc
