#include "postproc/sample_statistics.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <stdexcept>

namespace torsowave::postproc {

double quantile(std::span<const double> sorted, double share)
{
  if (sorted.empty() || !(share >= 0.0 && share <= 1.0)) {
    throw std::invalid_argument("a quantile needs values and a share from 0 to 1");
  }
  const double at = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return std::lerp(sorted[below], sorted[above], at - static_cast<double>(below));
}

SampleStatistics sample_statistics(std::span<const double> values)
{
  SampleStatistics result;
  std::ranges::copy_if(values, std::back_inserter(result.sorted),
                       [](double value) { return std::isfinite(value); });
  if (result.sorted.empty()) {
    throw std::invalid_argument("statistics need at least one finite value");
  }
  std::ranges::sort(result.sorted);
  const auto count = static_cast<double>(result.sorted.size());
  for (const double value : result.sorted) {
    result.mean += value / count;
  }
  double squares = 0.0;
  for (const double value : result.sorted) {
    squares += (value - result.mean) * (value - result.mean);
  }
  result.deviation = count > 1.0 ? std::sqrt(squares / (count - 1.0)) : 0.0;
  return result;
}

Share wilson_share(std::size_t hits, std::size_t trials)
{
  if (trials == 0 || hits > trials) {
    throw std::invalid_argument("a share needs trials, and no more hits than these");
  }
  constexpr double z = 1.959963984540054;  // 97.5 % of the standard normal distribution
  const auto n = static_cast<double>(trials);
  const double p = static_cast<double>(hits) / n;
  const double whole = 1.0 + z * z / n;
  const double middle = (p + z * z / (2.0 * n)) / whole;
  const double half = z * std::sqrt(p * (1.0 - p) / n + z * z / (4.0 * n * n)) / whole;
  return {p, std::max(0.0, middle - half), std::min(1.0, middle + half)};
}

}  // namespace torsowave::postproc
