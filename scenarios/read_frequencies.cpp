#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr int max_frequencies = 1000;
constexpr double usable_level_db = 40.0;  ///< below the peak of the spectrum

/// A frequency with the value that it came from.
struct Wanted {
  double frequency;
  Value value;
};

std::vector<Wanted> read_list(const Value& value)
{
  std::vector<Wanted> wanted;
  const auto items = value.items(
      "a list of 1 to 1000 frequencies, e.g. [2.40 GHz, 2.45 GHz], or {from, to, count}",
      1, max_frequencies);
  if (!items) {
    return wanted;
  }
  for (const Value& item : *items) {
    const auto frequency = item.quantity(Dimension::frequency, positive_frequency);
    if (!frequency) {
      continue;
    }
    if (!wanted.empty() && *frequency == wanted.back().frequency) {
      item.fault("the frequency is listed twice; keep one of them");
    } else if (!wanted.empty() && *frequency < wanted.back().frequency) {
      item.fault("the frequencies must rise; sort the list");
    }
    wanted.push_back({*frequency, item});
  }
  return wanted;
}

/// from, to and what lies evenly between them.
std::vector<Wanted> read_span(const Value& value)
{
  Section section(value);
  const Value from_value = section.require("from", "2.3 GHz");
  const Value to_value = section.require("to", "2.6 GHz");
  const auto from = from_value.quantity(Dimension::frequency, positive_frequency);
  const auto to = to_value.quantity(Dimension::frequency, positive_frequency);
  const auto count = section.require("count", "7").integer(2, max_frequencies);
  section.reject_others();
  std::vector<Wanted> wanted;
  if (!from || !to || !count) {
    return wanted;
  }
  if (*from >= *to) {
    to_value.fault("must be above from; write the lower frequency as from");
    return wanted;
  }
  for (int i = 0; i + 1 < *count; ++i) {
    const double share = static_cast<double>(i) / (*count - 1);
    wanted.push_back({*from + share * (*to - *from), from_value});
  }
  wanted.push_back({*to, to_value});
  return wanted;
}

/// How far a waveform's spectrum lies below its peak [dB].
double level_below_peak(const WaveformSpec& waveform, double frequency)
{
  if (waveform.kind == WaveformKind::pulse) {
    // Gaussian, -20 dB at center +- bandwidth/2.
    const double offset = 2.0 * (frequency - waveform.center) / waveform.bandwidth;
    return 20.0 * offset * offset;
  }
  // Ricker: |S| ~ x^2 exp(1 - x^2), x = f/center, peak 1 at x = 1 (second derivative of a
  // Gaussian; N. Ricker, Geophysics 18 (1953) 10-40, from memory).
  const double x2 = std::pow(frequency / waveform.center, 2);
  return -20.0 * (std::log10(x2) + (1.0 - x2) * std::log10(std::exp(1.0)));
}

/// The frequency between a usable and an unusable one where the level is just usable.
double edge_of_use(const WaveformSpec& waveform, double usable, double unusable)
{
  for (int step = 0; step < 100; ++step) {
    const double middle = 0.5 * (usable + unusable);
    (level_below_peak(waveform, middle) <= usable_level_db ? usable : unusable) = middle;
  }
  return usable;
}

std::string usable_range(const WaveformSpec& waveform)
{
  const double center = waveform.center;
  const double lowest = 1e-9 * center;
  const double low = level_below_peak(waveform, lowest) <= usable_level_db
                         ? lowest
                         : edge_of_use(waveform, center, lowest);
  const double high = edge_of_use(waveform, center, 10.0 * center + waveform.bandwidth);
  const std::string top = show_quantity(high, Dimension::frequency);
  return low <= lowest ? fmt::format("up to about {}", top)
                       : fmt::format("about {} to {}",
                                     show_quantity(low, Dimension::frequency), top);
}

bool has_spectrum(const WaveformSpec& waveform)
{
  return (waveform.kind == WaveformKind::pulse && waveform.center > 0.0 &&
          waveform.bandwidth > 0.0 && waveform.bandwidth < 2.0 * waveform.center) ||
         (waveform.kind == WaveformKind::ricker && waveform.center > 0.0);
}

void check_spectrum(const std::vector<Wanted>& wanted, const WaveformSpec& waveform)
{
  if (!has_spectrum(waveform)) {
    return;
  }
  std::string reported;
  for (const Wanted& item : wanted) {
    if (item.value.path() != reported &&
        level_below_peak(waveform, item.frequency) > usable_level_db) {
      item.value.fault(fmt::format(
          "the waveform's spectrum is more than 40 dB below its peak at {}; "
          "usable with this waveform: {}",
          show_quantity(item.frequency, Dimension::frequency), usable_range(waveform)));
      reported = item.value.path();
    }
  }
}

void check_band(const std::vector<Wanted>& wanted, const MaterialsSpec& materials)
{
  if (!materials.fit_band) {
    return;
  }
  const auto [from, to] = *materials.fit_band;
  for (const Wanted& item : wanted) {
    if (item.frequency < from || item.frequency > to) {
      item.value.fault(
          fmt::format("{} lies outside materials.fit.band, {} to {}; widen the band or "
                      "choose another frequency",
                      show_quantity(item.frequency, Dimension::frequency),
                      show_quantity(from, Dimension::frequency),
                      show_quantity(to, Dimension::frequency)));
    }
  }
}

void check_cw(const std::vector<Wanted>& wanted, const WaveformSpec& waveform,
              const Value& value)
{
  const bool known = waveform.kind == WaveformKind::cw && waveform.frequency > 0.0;
  if (known && value && !wanted.empty() &&
      (wanted.size() > 1 || wanted.front().frequency != waveform.frequency)) {
    value.fault(
        fmt::format("a cw run has one frequency, {}; write that alone or remove "
                    "frequencies",
                    show_quantity(waveform.frequency, Dimension::frequency)));
  }
}

/// The waveform's own frequency where none is asked for, found at the waveform.
std::vector<Wanted> by_default(Section& root, const WaveformSpec& waveform)
{
  const Value value = root.get("waveform");
  if (waveform.kind == WaveformKind::samples && !waveform.file.empty()) {
    static_cast<void>(root.require("frequencies", "[2.45 GHz]"));
  }
  const double own =
      waveform.kind == WaveformKind::cw ? waveform.frequency : waveform.center;
  return own > 0.0 ? std::vector<Wanted>{{own, value}} : std::vector<Wanted>{};
}

}  // namespace

std::vector<double> read_frequencies(const Value& value, Section& root,
                                     const Scenario& scenario)
{
  std::vector<Wanted> wanted;
  if (!value) {
    wanted = by_default(root, scenario.waveform);
  } else {
    wanted = value.kind() == Node::Kind::map ? read_span(value) : read_list(value);
    check_spectrum(wanted, scenario.waveform);
    check_cw(wanted, scenario.waveform, value);
  }
  check_band(wanted, scenario.materials);
  std::vector<double> frequencies;
  std::ranges::transform(wanted, std::back_inserter(frequencies), &Wanted::frequency);
  return frequencies;
}

}  // namespace torsowave::scenarios
