#include <fmt/format.h>

#include <algorithm>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

SnapshotSpec read_snapshots(const Value& value, Mode mode)
{
  SnapshotSpec spec;
  spec.field = field_names(mode).front();
  Section section(value);
  assign(spec.field, section.get("field").word(field_names(mode)));
  assign(spec.every,
         section.require("every", "0.1 ns").quantity(Dimension::time, positive_time));
  assign(spec.stride, section.get("stride").integer(1, 1000));
  section.reject_others();
  return spec;
}

/// Words of a list (or a single word where `one_is_fine`), each at most once.
std::vector<std::string> read_words(const Value& value,
                                    const std::vector<std::string>& names,
                                    bool one_is_fine)
{
  std::vector<std::string> words;
  if (!value) {
    return words;
  }
  std::vector<Value> items;
  if (one_is_fine && value.kind() == Node::Kind::scalar) {
    items.push_back(value);
  } else {
    items = value.items("a list of any of: " + listed(names), 1, names.size())
                .value_or(std::vector<Value>{});
  }
  for (const Value& item : items) {
    const auto word = item.word(names);
    if (word && std::ranges::find(words, *word) != words.end()) {
      item.fault(fmt::format("{} is listed twice; keep one of them", in_quotes(*word)));
    } else if (word) {
      words.push_back(*word);
    }
  }
  return words;
}

/// Probes become groups of the result file, so their names are plain.
bool is_probe_name(const std::string& text)
{
  const auto is_plain = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           c == '_' || c == '-';
  };
  return !text.empty() && text.size() <= 64 && std::ranges::all_of(text, is_plain);
}

std::optional<ProbeSpec> read_probe(const Value& value, Mode mode)
{
  Section section(value);
  const Value name_value = section.require("name", "front");
  const auto name = name_value.text("a name");
  const auto position = read_position(
      section.require("position", mode == Mode::one_d ? "12 mm" : "[0 mm, 115 mm]"),
      mode);
  section.reject_others();
  if (name && !is_probe_name(*name)) {
    name_value.fault(
        fmt::format("{} is not a name for a probe; write letters, digits, _ "
                    "and -, at most 64",
                    in_quotes(*name)));
  }
  if (!name || !position) {
    return std::nullopt;
  }
  return ProbeSpec{*name, *position};
}

std::vector<ProbeSpec> read_probes(const Value& value, Mode mode)
{
  std::vector<ProbeSpec> probes;
  const auto items = value.items(
      "a list of up to 1000 probes, e.g. [{name: front, position: [0 mm, 115 mm]}]", 0,
      1000);
  if (!items) {
    return probes;
  }
  for (const Value& item : *items) {
    auto probe = read_probe(item, mode);
    if (!probe) {
      continue;
    }
    if (std::ranges::find(probes, probe->name, &ProbeSpec::name) != probes.end()) {
      item.fault(fmt::format("a second probe named {}; choose another name",
                             in_quotes(probe->name)));
    }
    probes.push_back(std::move(*probe));
  }
  return probes;
}

/// What can be drawn in a mode.
std::vector<std::string> image_names(Mode mode)
{
  std::vector<std::string> names = field_names(mode);
  names.insert(names.end(), {"tissue", "snapshot", "sar"});
  if (mode == Mode::one_d) {
    names.emplace_back("spacetime");
  } else {
    names.insert(names.end(), {"surface", "surface_ring", "far_field", "power_flow"});
  }
  return names;
}

ImageSpec read_images(const Value& value, Mode mode, bool has_snapshots)
{
  ImageSpec spec;
  Section section(value);
  const std::string field = field_names(mode).front();
  const Value quantity =
      section.require("quantity", fmt::format("[{}, sar, tissue]", field));
  spec.quantities = read_words(quantity, image_names(mode), true);
  assign(spec.decibel,
         section.get("scale").choice<bool>({{"dB", true}, {"linear", false}}));
  section.reject_others();
  for (const char* name : {"snapshot", "spacetime"}) {
    if (!has_snapshots &&
        std::ranges::find(spec.quantities, name) != spec.quantities.end()) {
      quantity.fault(
          fmt::format("a {} image needs outputs.snapshots; add it, e.g. snapshots: "
                      "{{field: {}, every: 0.1 ns}}",
                      name, field));
    }
  }
  return spec;
}

/// \param has_fields  snapshots or phasors are stored
AnimationSpec read_animation(const Value& value, Mode mode, bool has_fields)
{
  AnimationSpec spec;
  Section section(value);
  assign(spec.format, section.get("format").word({"mp4", "webp", "gif"}));
  assign(spec.frames_per_second,
         section.get("frames_per_second")
             .number({0.0, 240.0, true, "greater than 0 and at most 240"}));
  section.reject_others();
  if (!has_fields) {
    value.fault(
        fmt::format("an animation needs outputs.snapshots or outputs.phasors; add one, "
                    "e.g. snapshots: {{field: {}, every: 0.1 ns}}",
                    field_names(mode).front()));
  }
  return spec;
}

}  // namespace

OutputSpec read_outputs(const Value& value, Mode mode)
{
  OutputSpec outputs;
  Section section(value);
  const Value snapshots = section.get("snapshots");
  if (snapshots) {
    outputs.snapshots = read_snapshots(snapshots, mode);
  }
  outputs.phasors = read_words(section.get("phasors"), field_names(mode), false);
  outputs.probes = read_probes(section.get("probes"), mode);
  const Value sectors = section.get("sectors");
  assign(outputs.sectors, sectors.integer(4, 3600));
  if (mode == Mode::one_d) {
    sectors.fault("sectors belong to the modes TMz and TEz; remove them");
  }
  const Value images = section.get("images");
  if (images) {
    outputs.images = read_images(images, mode, static_cast<bool>(snapshots));
  }
  if (const Value animation = section.get("animation")) {
    outputs.animation = read_animation(
        animation, mode, outputs.snapshots.has_value() || !outputs.phasors.empty());
  }
  section.reject_others();
  return outputs;
}

}  // namespace torsowave::scenarios
