#include <fmt/format.h>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::size_t max_layers = 1000;
constexpr const char* half_space = "half_space";

/// A layer with the values that it came from.
struct ReadLayer {
  LayerSpec layer;
  Value tissue;
  Value thickness;
};

std::optional<ReadLayer> read_layer(const Value& value, const TissueNames& names)
{
  Section section(value);
  ReadLayer read;
  read.tissue = section.require("tissue", "muscle");
  read.thickness = section.require("thickness", "2 mm, or half_space");
  section.reject_others();
  const auto tissue = names.read(read.tissue);
  if (!tissue || !read.thickness) {
    return std::nullopt;
  }
  read.layer.tissue = *tissue;
  const bool scalar = read.thickness.kind() == Node::Kind::scalar;
  if (scalar && read.thickness.node()->text == half_space) {
    return read;
  }
  read.layer.thickness = read.thickness.quantity(Dimension::length, positive_length);
  return read.layer.thickness ? std::optional{read} : std::nullopt;
}

void check_half_space(const ReadLayer& read, bool outermost)
{
  if (!read.layer.thickness && !outermost) {
    read.thickness.fault(
        "only the first and the last layer can be a half-space, which has no end; write "
        "a length, e.g. 2 mm");
  }
}

/// Behind a perfect conductor there is no field, so nothing can follow it.
void check_conductor(const ReadLayer& read, const TissueNames& names, bool outermost)
{
  if (!names.is_conductor(read.layer.tissue)) {
    return;
  }
  if (!outermost) {
    read.tissue.fault(fmt::format(
        "{} is a perfect conductor, which no field passes; only the first or the last "
        "layer can be one: leave out the layers behind it",
        in_quotes(read.layer.tissue)));
  } else if (read.layer.thickness) {
    read.thickness.fault(
        fmt::format("{} is a perfect conductor, behind which there is nothing to see; "
                    "write half_space",
                    in_quotes(read.layer.tissue)));
  }
}

}  // namespace

std::vector<LayerSpec> read_layers(const Value& value, const TissueNames& names)
{
  std::vector<LayerSpec> layers;
  const auto items = value.items(
      "a list of 1 to 1000 layers, each {tissue: ..., thickness: 2 mm}", 1, max_layers);
  for (std::size_t i = 0; items && i < items->size(); ++i) {
    const auto read = read_layer((*items)[i], names);
    if (!read) {
      continue;
    }
    const bool outermost = i == 0 || i + 1 == items->size();
    check_half_space(*read, outermost);
    check_conductor(*read, names, outermost);
    if (!read->layer.thickness && items->size() == 1) {
      read->thickness.fault(
          "one half-space alone has no face; write a second layer on the other side, "
          "e.g. {tissue: air, thickness: half_space}");
    }
    layers.push_back(read->layer);
  }
  return layers;
}

}  // namespace torsowave::scenarios
