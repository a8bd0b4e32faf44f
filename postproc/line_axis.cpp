#include "postproc/line_axis.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

[[nodiscard]] bool has_place(double value, bool logarithmic)
{
  return std::isfinite(value) && (!logarithmic || value > 0.0);
}

[[nodiscard]] Range extent(std::span<const double> values, const LineAxis& axis)
{
  Range range{std::numeric_limits<double>::infinity(),
              -std::numeric_limits<double>::infinity()};
  for (const double value : values) {
    if (has_place(value, axis.logarithmic)) {
      range.low = std::min(range.low, value);
      range.high = std::max(range.high, value);
    }
  }
  if (range.low > range.high) {
    throw std::invalid_argument(
        fmt::format("no value has a place on the axis \"{}\"", axis.label));
  }
  return range;
}

/// A range that can be drawn, with air at both ends.
[[nodiscard]] Range widened(Range range, double air, bool logarithmic)
{
  if (logarithmic) {
    const double ratio = std::max(std::pow(range.high / range.low, air), 1.0 + air);
    return {range.low / ratio, range.high * ratio};
  }
  const double size = std::max({std::abs(range.low), std::abs(range.high), 1e-300});
  const double span = range.high - range.low;
  const double margin = span > 1e-6 * size ? air * span : 0.1 * size;
  return {range.low - margin, range.high + margin};
}

/// Never wider than the room left of the axis: 300, 5, 0.002, 1e-04.
[[nodiscard]] std::string decade_text(double value)
{
  return value < 0.999e-3 ? fmt::format("{:.0e}", value) : fmt::format("{:.4g}", value);
}

}  // namespace

ScaledAxis::ScaledAxis(const LineAxis& axis, std::span<const double> values, double air)
    : logarithmic_(axis.logarithmic)
{
  if (axis.range) {
    range_ = {(*axis.range)[0], (*axis.range)[1]};
  } else {
    Range all = extent(values, axis);
    if (axis.widest_span) {
      all.low = std::max(all.low, all.high - *axis.widest_span);
    }
    range_ = widened(all, air, logarithmic_);
  }
  if (!(range_.low < range_.high) || !has_place(range_.low, logarithmic_) ||
      !std::isfinite(range_.high)) {
    throw std::invalid_argument(fmt::format("the axis \"{}\" cannot run from {} to {}",
                                            axis.label, range_.low, range_.high));
  }
}

double ScaledAxis::share(double value) const
{
  return logarithmic_ ? std::log(value / range_.low) / std::log(range_.high / range_.low)
                      : (value - range_.low) / (range_.high - range_.low);
}

std::vector<AxisTick> ScaledAxis::ticks(std::size_t count) const
{
  std::vector<AxisTick> ticks;
  const double decades = logarithmic_ ? std::log10(range_.high / range_.low) : 0.0;
  constexpr double fewest_decades = 0.7;  // below that, round numbers do better
  if (decades < fewest_decades) {
    const std::vector<double> values = round_ticks(range_, count);
    const std::vector<std::string> texts = tick_texts(values);
    for (std::size_t k = 0; k < values.size(); ++k) {
      ticks.push_back({values[k], texts[k]});
    }
    return ticks;
  }
  // 1, 2, 5 with texts where there is room, else whole decades, every n-th of them.
  const auto room = static_cast<double>(count);
  const bool all = 3.0 * decades <= room;
  const int every = std::max(1, static_cast<int>(std::ceil(decades / room)));
  const int first = static_cast<int>(std::floor(std::log10(range_.low)));
  const int last = static_cast<int>(std::ceil(std::log10(range_.high)));
  for (int decade = first; decade <= last; ++decade) {
    for (const int factor : {1, 2, 3, 4, 5, 6, 7, 8, 9}) {
      const double value = factor * std::pow(10.0, decade);
      const bool named = (factor == 1 && (decade - first) % every == 0) ||
                         (all && (factor == 2 || factor == 5));
      if (value >= range_.low * (1.0 - 1e-9) && value <= range_.high * (1.0 + 1e-9)) {
        ticks.push_back({value, named ? decade_text(value) : ""});
      }
    }
  }
  return ticks;
}

}  // namespace torsowave::postproc
