#include "solver/waveform.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

/// Where a Gaussian exp(-u^2/2) has fallen to 1e-10.
const double gaussian_reach = std::sqrt(2.0 * std::log(1e10));

}  // namespace

Waveform pulse_waveform(double center, double bandwidth)
{
  // Amplitude spectrum exp(-(f - fc)^2/(2 sf^2)) is 20 dB down at bandwidth/2.
  const double spectral_width = 0.5 * bandwidth / std::sqrt(2.0 * std::log(10.0));
  const double width = 1.0 / (materials::two_pi * spectral_width);
  const double middle = gaussian_reach * width;
  const auto current = [=](double t) {
    if (t < 0.0 || t > 2.0 * middle) {
      return 0.0;
    }
    const double u = t - middle;
    return std::exp(-0.5 * u * u / (width * width)) *
           std::sin(materials::two_pi * center * u);
  };
  return {current, 2.0 * middle, center + gaussian_reach * spectral_width};
}

Waveform cw_waveform(double frequency, double ramp)
{
  const auto current = [=](double t) {
    if (t < 0.0) {
      return 0.0;
    }
    const double level =
        t < ramp ? 0.5 * (1.0 - std::cos(std::numbers::pi * t / ramp)) : 1.0;
    return level * std::sin(materials::two_pi * frequency * t);
  };
  return {current, std::numeric_limits<double>::infinity(), frequency + 10.0 / ramp};
}

Waveform ricker_waveform(double center)
{
  // Spectrum ~ (f/fc)^2 exp(-(f/fc)^2): below 1e-9 of its peak from 5 fc on.
  const double middle = gaussian_reach /
                        (std::numbers::sqrt2 * std::numbers::pi * center) *
                        1.15;  // the factor (1 - 2a) lifts the tail above the Gaussian's
  const auto current = [=](double t) {
    if (t < 0.0 || t > 2.0 * middle) {
      return 0.0;
    }
    const double root = std::numbers::pi * center * (t - middle);
    const double a = root * root;
    return (1.0 - 2.0 * a) * std::exp(-a);
  };
  return {current, 2.0 * middle, 5.0 * center};
}

Waveform sampled_waveform(std::vector<double> times, std::vector<double> values)
{
  if (times.size() < 2 || times.size() != values.size()) {
    throw std::invalid_argument(
        "a sampled waveform needs at least 2 pairs of time and value");
  }
  double shortest = std::numeric_limits<double>::infinity();
  for (std::size_t n = 1; n < times.size(); ++n) {
    if (!(times[n] > times[n - 1])) {
      throw std::invalid_argument("the times of a sampled waveform must ascend");
    }
    shortest = std::min(shortest, times[n] - times[n - 1]);
  }
  const double end = times.back();
  auto current = [times = std::move(times), values = std::move(values)](double t) {
    if (t < times.front() || t > times.back()) {
      return 0.0;
    }
    const auto after = std::upper_bound(times.begin(), times.end(), t);
    if (after == times.end()) {
      return values.back();
    }
    const auto n = static_cast<std::size_t>(after - times.begin());
    const double part = (t - times[n - 1]) / (times[n] - times[n - 1]);
    return values[n - 1] + part * (values[n] - values[n - 1]);
  };
  // Straight lines between samples: the spectrum falls only as 1/f^2 beyond the sample
  // rate.
  return {std::move(current), end, 2.0 / shortest};
}

}  // namespace torsowave::solver
