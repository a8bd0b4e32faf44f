#include <fmt/format.h>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t max_shapes = 10'000;

void read_shape(const Value& value, const TissueNames& names, BodySpec& body)
{
  Section section(value);
  if (!section) {
    return;
  }
  const auto tissue = names.read(section.require("tissue", "muscle"));
  const auto outline = read_outline(section);
  section.reject_others();
  if (tissue && outline) {
    body.shapes.push_back({*tissue, *outline});
  }
}

/// A map's outline is that of its pixels, with all their steps.
void reject_shells(const std::vector<Value>& items, const BodySpec& body)
{
  for (std::size_t n = 1; body.shapes.size() == items.size() + 1 && n <= items.size();
       ++n) {
    if (std::holds_alternative<geometry::Shell>(body.shapes[n].outline)) {
      items[n - 1].fault(
          "a shell cannot line the pixels of a label map; draw the rind in the map");
    }
  }
}

/// The map is the first coat of paint.
void add_label_map(const Value& value, const TissueNames& names,
                   const std::filesystem::path& folder, BodySpec& body)
{
  body.label_map = read_label_map(value, names, body.background, folder);
  if (body.label_map) {
    body.shapes.push_back({"", geometry::LabelMap{body.label_map->grid}});
  }
}

void read_shapes(const Value& value, const TissueNames& names, BodySpec& body)
{
  const auto items = value.items(
      "a list of 1 to 10000 shapes, each {tissue: ..., circle: {...}}", 1, max_shapes);
  if (!items) {
    return;
  }
  for (const Value& item : *items) {
    read_shape(item, names, body);
  }
  if (body.label_map) {
    reject_shells(*items, body);
    return;
  }
  const bool shell_first =
      !body.shapes.empty() && body.shapes.size() == items->size() &&
      std::holds_alternative<geometry::Shell>(body.shapes.front().outline);
  if (shell_first) {
    items->front().fault(
        "the first shape cannot be a shell, which lines the shapes before it; put an "
        "ellipse, circle, rectangle or polygon first");
  }
}

void read_background(const Value& value, const TissueNames& names, BodySpec& body)
{
  const auto background = names.read(value);
  if (background && names.is_conductor(*background)) {
    value.fault(
        fmt::format("{} is a perfect conductor, which cannot surround the body; "
                    "write a medium, e.g. air",
                    in_quotes(*background)));
  }
  assign(body.background, background);
}

}  // namespace

BodySpec read_body(const Value& value, const TissueNames& names, Mode mode,
                   const std::filesystem::path& folder)
{
  BodySpec body;
  Section section(value);
  read_background(section.get("background"), names, body);
  const Value label_map = section.get("label_map");
  const Value torso = section.get("torso");
  std::vector<std::string> kinds{"label_map", "layers", "torso"};
  if (!torso && !label_map) {  // shapes may be painted over them
    kinds.insert(kinds.begin(), "shapes");
  }
  static_cast<void>(section.exactly_one(kinds));
  const Value shapes = section.get("shapes");
  const Value layers = section.get("layers");
  const Value first_face = section.get("first_face");
  if (mode == Mode::one_d) {
    shapes.fault(
        "shapes belong to the modes TMz and TEz; in mode 1D write layers, e.g. layers: "
        "[{tissue: skin_dry, thickness: 2 mm}]");
    label_map.fault(
        "a label map belongs to the modes TMz and TEz; in mode 1D write layers");
    torso.fault(
        "a ready-made cross-section belongs to the modes TMz and TEz; in mode 1D write "
        "layers");
    body.layers = read_layers(layers, names);
    assign(body.first_face, first_face.quantity(Dimension::length, any_length));
  } else {
    layers.fault(
        fmt::format("layers belong to mode 1D; in mode {} write shapes, or set mode: 1D",
                    mode_name(mode)));
    first_face.fault(
        fmt::format("belongs to mode 1D; remove it in mode {}", mode_name(mode)));
    if (label_map) {
      add_label_map(label_map, names, folder, body);
    }
    if (torso) {
      body.shapes = read_torso(torso);
      body.torso_shapes = body.shapes.size();
    }
    read_shapes(shapes, names, body);
  }
  section.reject_others();
  return body;
}

}  // namespace torsowave::scenarios
