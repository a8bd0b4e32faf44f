#include "postproc/figure_scale.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace torsowave::postproc {
namespace {

/// 1, 2 or 5 times a power of ten, not below `value`.
[[nodiscard]] double round_step(double value)
{
  const double decade = std::pow(10.0, std::floor(std::log10(value)));
  for (const double factor : {1.0, 2.0, 5.0}) {
    if (factor * decade >= value * (1.0 - 1e-9)) {
      return factor * decade;
    }
  }
  return 10.0 * decade;
}

[[nodiscard]] std::vector<double> multiples(Range range, double step)
{
  constexpr double slack = 1e-6;  // of a step: a bound that is itself a multiple counts
  const double first = std::ceil(range.low / step - slack);
  const double last = std::floor(range.high / step + slack);
  std::vector<double> ticks;
  for (double k = first; k <= last; k += 1.0) {
    ticks.push_back(k * step + 0.0);  // + 0.0 turns -0 into 0
  }
  return ticks;
}

}  // namespace

std::vector<double> round_ticks(Range range, std::size_t count)
{
  const double span = range.high - range.low;
  const double farthest = std::max(std::abs(range.low), std::abs(range.high));
  if (!std::isfinite(span) || span <= 1e-9 * farthest || count < 2) {
    return {};
  }
  double step = round_step(span / static_cast<double>(count + 1));
  while (multiples(range, step).size() > count) {
    step = round_step(1.5 * step);
  }
  while (multiples(range, step).size() < 2) {
    step = round_step(0.396 * step);  // the next finer one of 1, 2, 5
  }
  return multiples(range, step);
}

std::vector<std::string> tick_texts(const std::vector<double>& ticks)
{
  const double step = ticks.size() > 1 ? ticks[1] - ticks[0] : 1.0;
  const double largest =
      ticks.empty() ? 0.0 : std::max(std::abs(ticks.front()), std::abs(ticks.back()));
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-6)));
  const bool plain = decimals <= 4 && largest < 1e6;
  std::vector<std::string> texts;
  texts.reserve(ticks.size());
  for (const double tick : ticks) {
    std::string text =
        plain ? fmt::format("{:.{}f}", tick, decimals) : fmt::format("{:.3g}", tick);
    if (text.front() == '-') {
      text.replace(0, 1, "−");
    }
    texts.push_back(std::move(text));
  }
  return texts;
}

double round_up(double value)
{
  constexpr std::array<double, 11> factors = {1.0, 1.2, 1.5, 2.0, 2.5, 3.0,
                                              4.0, 5.0, 6.0, 8.0, 10.0};
  const double decade = std::pow(10.0, std::floor(std::log10(value)));
  for (const double factor : factors) {
    if (factor * decade >= value * (1.0 - 1e-9)) {
      return factor * decade;
    }
  }
  return 10.0 * decade;
}

double percentile(std::vector<double>& values, double share)
{
  const auto place = static_cast<std::ptrdiff_t>(
      std::floor(share * static_cast<double>(values.size() - 1)));
  std::nth_element(values.begin(), values.begin() + place, values.end());
  return values[static_cast<std::size_t>(place)];
}

std::string frequency_text(double frequency)
{
  return frequency >= 1e9 ? fmt::format("{:.6g} GHz", frequency / 1e9)
                          : fmt::format("{:.6g} MHz", frequency / 1e6);
}

}  // namespace torsowave::postproc
