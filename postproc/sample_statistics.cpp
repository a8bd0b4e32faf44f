#include "postproc/sample_statistics.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

/// From 1; equal values share the mean of theirs.
[[nodiscard]] std::vector<double> ranks(std::span<const double> values)
{
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, {}, [&](std::size_t n) { return values[n]; });
  std::vector<double> rank(values.size());
  for (std::size_t first = 0; first < order.size();) {
    std::size_t end = first;
    while (end < order.size() && values[order[end]] == values[order[first]]) {
      ++end;
    }
    for (std::size_t n = first; n < end; ++n) {
      rank[order[n]] = 0.5 * static_cast<double>(first + end + 1);
    }
    first = end;
  }
  return rank;
}

}  // namespace

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

std::optional<double> rank_correlation(std::span<const double> x,
                                       std::span<const double> y)
{
  const auto finite = [](double value) { return std::isfinite(value); };
  if (x.size() != y.size() || !std::ranges::all_of(x, finite) ||
      !std::ranges::all_of(y, finite)) {
    throw std::invalid_argument(
        "a rank correlation needs as many finite values of one quantity as of the other");
  }
  const std::vector<double> rank_x = ranks(x);
  const std::vector<double> rank_y = ranks(y);
  const double middle = 0.5 * (static_cast<double>(x.size()) + 1.0);
  double xx = 0.0;
  double yy = 0.0;
  double xy = 0.0;
  for (std::size_t n = 0; n < x.size(); ++n) {
    xx += (rank_x[n] - middle) * (rank_x[n] - middle);
    yy += (rank_y[n] - middle) * (rank_y[n] - middle);
    xy += (rank_x[n] - middle) * (rank_y[n] - middle);
  }
  return xx > 0.0 && yy > 0.0 ? std::optional(xy / std::sqrt(xx * yy)) : std::nullopt;
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
