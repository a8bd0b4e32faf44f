#include "app/source_check.hpp"

#include <cmath>
#include <complex>
#include <numbers>

namespace torsowave::app {

std::optional<std::size_t> missing_frequency(const solver::Waveform& waveform,
                                             double every,
                                             const std::vector<double>& frequencies)
{
  constexpr double faintest = 1e-2;
  constexpr double most_terms = 1e8;  // seconds of work
  const double count = std::ceil(waveform.end / every);
  if (!(count * static_cast<double>(frequencies.size()) < most_terms)) {
    return std::nullopt;
  }
  double whole = 0.0;
  std::vector<std::complex<double>> sums(frequencies.size());
  for (long n = 0; n < std::lround(count); ++n) {
    const double time = static_cast<double>(n) * every;
    const double current = waveform.current(time);
    whole += std::abs(current);
    for (std::size_t f = 0; f < sums.size(); ++f) {
      sums[f] += std::polar(current, -2.0 * std::numbers::pi * frequencies[f] * time);
    }
  }
  for (std::size_t f = 0; f < sums.size(); ++f) {
    if (!(std::abs(sums[f]) > faintest * whole)) {
      return f;
    }
  }
  return std::nullopt;
}

}  // namespace torsowave::app
