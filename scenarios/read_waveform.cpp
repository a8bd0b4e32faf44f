#include <fmt/format.h>

#include <system_error>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr double default_ramp_periods = 10.0;

void read_pulse(Section& section, WaveformSpec& spec)
{
  assign(spec.center, section.require("center", "2.45 GHz")
                          .quantity(Dimension::frequency, positive_frequency));
  const Value width = section.require("bandwidth", "1 GHz");
  assign(spec.bandwidth, width.quantity(Dimension::frequency, positive_frequency));
  if (spec.center > 0.0 && spec.bandwidth >= 2.0 * spec.center) {
    width.fault(
        fmt::format("must be less than twice the center, {}, so that the pulse holds "
                    "no direct current",
                    show_quantity(2.0 * spec.center, Dimension::frequency)));
  }
}

void read_cw(Section& section, WaveformSpec& spec)
{
  assign(spec.frequency, section.require("frequency", "2.45 GHz")
                             .quantity(Dimension::frequency, positive_frequency));
  const auto ramp = section.get("ramp").quantity(Dimension::time, positive_time);
  if (spec.frequency > 0.0) {
    spec.ramp = ramp.value_or(default_ramp_periods / spec.frequency);
  }
}

void read_samples(Section& section, WaveformSpec& spec,
                  const std::filesystem::path& folder)
{
  const Value value = section.require("file", "pulse.csv");
  const auto name = value.text("the path of a file");
  if (!name) {
    return;
  }
  spec.file = folder / *name;
  std::error_code error;
  if (!std::filesystem::is_regular_file(spec.file, error)) {
    value.fault(fmt::format("no such file: {}; write a path relative to the scenario",
                            in_quotes(spec.file.string())));
  }
}

}  // namespace

WaveformSpec read_waveform(const Value& value, const std::filesystem::path& folder)
{
  WaveformSpec spec;
  Section section(value);
  const auto kind = section.require("type", "pulse")
                        .choice<WaveformKind>({{"pulse", WaveformKind::pulse},
                                               {"cw", WaveformKind::cw},
                                               {"ricker", WaveformKind::ricker},
                                               {"samples", WaveformKind::samples}});
  if (!kind) {
    return spec;
  }
  spec.kind = *kind;
  switch (spec.kind) {
    case WaveformKind::pulse:
      read_pulse(section, spec);
      break;
    case WaveformKind::cw:
      read_cw(section, spec);
      break;
    case WaveformKind::ricker:
      assign(spec.center, section.require("center", "2.45 GHz")
                              .quantity(Dimension::frequency, positive_frequency));
      break;
    case WaveformKind::samples:
      read_samples(section, spec, folder);
      break;
  }
  section.reject_others();
  return spec;
}

DurationSpec read_duration(const Value& value)
{
  DurationSpec spec;
  if (!value) {
    return spec;
  }
  if (value.kind() == Node::Kind::map) {
    Section section(value);
    assign(spec.decay_db,
           section.require("decay", "60 dB")
               .quantity(Dimension::level, {20.0, 200.0, false, "from 20 dB to 200 dB"}));
    section.reject_others();
    return spec;
  }
  const auto text = value.text("auto, a time (e.g. 12 ns) or {decay: 60 dB}");
  if (text && *text != "auto") {
    spec.time = value.quantity(Dimension::time, positive_time);
  }
  return spec;
}

}  // namespace torsowave::scenarios
