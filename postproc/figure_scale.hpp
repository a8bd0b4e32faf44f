/// \file
/// \brief Numbers on axes and colour bars: ranges, round ticks, how they are written.

#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

namespace torsowave::postproc {

struct Range {
  double low = 0.0;
  double high = 1.0;
};

/// A place on an axis with its text; minor ones have none.
struct AxisTick {
  double value = 0.0;
  std::string text;
};

/// Multiples of 1, 2 or 5 times a power of ten within `range`: as many as `count` allows,
/// but never fewer than two. None if the range is empty, not finite, or too narrow beside
/// its distance from zero (1e-9) to be told apart in double precision; or if `count` < 2.
[[nodiscard]] std::vector<double> round_ticks(Range range, std::size_t count);

/// The ticks' texts, all with as many decimals as their step needs.
[[nodiscard]] std::vector<std::string> tick_texts(const std::vector<double>& ticks);

/// Smallest of 1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8 times a power of ten that is >=
/// `value`. \param value  finite and > 0
[[nodiscard]] double round_up(double value);

/// The value below which `share` (0 ... 1) of the values lie; the values are reordered.
/// \param values  at least one
[[nodiscard]] double percentile(std::vector<double>& values, double share);

/// A frequency [Hz] in MHz or, from 1 GHz on, in GHz.
[[nodiscard]] std::string frequency_text(double frequency);

}  // namespace torsowave::postproc
