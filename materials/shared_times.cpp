#include "materials/shared_times.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>

#include "materials/constants.hpp"
#include "materials/debye_least_squares.hpp"
#include "materials/nelder_mead.hpp"

namespace torsowave::materials {
namespace {

/// Starts: log-spaced times from `shortest`/w_max to `longest`/w_min.
struct Spread {
  double shortest;
  double longest;
};
constexpr std::array<Spread, 3> starts{{{0.3, 1.0}, {0.15, 3.0}, {0.6, 0.5}}};

std::vector<double> log_spaced_start(std::span<const double> frequencies, int count,
                                     const Spread& spread)
{
  const double from = std::log(spread.shortest / (two_pi * frequencies.back()));
  const double to = std::log(spread.longest / (two_pi * frequencies.front()));
  std::vector<double> logs;
  logs.reserve(static_cast<std::size_t>(count));
  for (int k = 0; k < count; ++k) {
    // One time alone starts in the middle, two at the quarters, and so on.
    logs.push_back(from + (to - from) * (k + 0.5) / count);
  }
  return logs;
}

std::vector<double> times_of(std::span<const double> logs)
{
  std::vector<double> times;
  times.reserve(logs.size());
  for (const double value : logs) {
    times.push_back(std::exp(value));
  }
  std::ranges::sort(times);
  return times;
}

/// The p-norm (mean) of the media's largest errors: close to the worst, but smoother.
class Objective {
public:
  Objective(std::span<const double> frequencies, std::span<const Samples> media)
      : frequencies_(frequencies),
        media_(media),
        weights_(frequencies.size(), 1.0),
        shortest_(std::log(1e-3 / (two_pi * frequencies.back()))),
        longest_(std::log(1e3 / (two_pi * frequencies.front())))
  {
  }

  double operator()(std::span<const double> logs, double power) const
  {
    for (const double value : logs) {
      if (value < shortest_ || value > longest_) {
        return std::numeric_limits<double>::max();
      }
    }
    const DebyeBasis basis(frequencies_, times_of(logs));
    double sum = 0.0;
    for (const Samples& medium : media_) {
      sum += std::pow(least_squares_fit(basis, medium, weights_).worst, power);
    }
    return std::pow(sum / static_cast<double>(media_.size()), 1.0 / power);
  }

private:
  std::span<const double> frequencies_;
  std::span<const Samples> media_;
  std::vector<double> weights_;
  double shortest_;
  double longest_;
};

}  // namespace

std::vector<double> search_shared_times(std::span<const double> frequencies,
                                        std::span<const Samples> media, int count)
{
  Minimum best{log_spaced_start(frequencies, count, starts.front()),
               std::numeric_limits<double>::infinity()};
  if (media.empty() || count == 0) {
    return times_of(best.point);
  }
  const Objective objective(frequencies, media);
  const auto smooth = [&](std::span<const double> logs) { return objective(logs, 6.0); };
  const auto sharp = [&](std::span<const double> logs) { return objective(logs, 40.0); };
  for (const Spread& spread : starts) {
    const std::vector<double> start = log_spaced_start(frequencies, count, spread);
    Minimum found = nelder_mead(
        smooth, start, {.step = 0.4, .tolerance = 1e-2, .evaluations = 60 * count});
    if (found.value < best.value) {
      best = found;
    }
  }
  best = nelder_mead(sharp, best.point,
                     {.step = 0.1, .tolerance = 1e-4, .evaluations = 80 * count});
  return times_of(best.point);
}

}  // namespace torsowave::materials
