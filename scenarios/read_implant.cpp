#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <iterator>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

std::optional<Capsule> read_capsule(const Value& value, const TissueNames& names)
{
  if (!value) {
    return std::nullopt;
  }
  Section section(value);
  const auto radius =
      section.require("radius", "4 mm").quantity(Dimension::length, positive_length);
  const Value material_value = section.require("material", "air");
  const auto material = names.read(material_value);
  section.reject_others();
  if (material && names.is_conductor(*material)) {
    material_value.fault(
        fmt::format("{} is a perfect conductor, and the source stands "
                    "inside the capsule; write a dielectric, e.g. air",
                    in_quotes(*material)));
  }
  if (!radius || !material) {
    return std::nullopt;
  }
  return Capsule{*radius, *material};
}

/// A source and the one mode that it belongs to.
struct Source {
  std::string_view name;
  SourceKind kind;
  Mode mode;
};

constexpr std::array<Source, 4> sources{
    {{"line_current", SourceKind::line_current, Mode::tmz},
     {"magnetic_line", SourceKind::magnetic_line, Mode::tez},
     {"dipole", SourceKind::dipole, Mode::tez},
     {"current_sheet", SourceKind::current_sheet, Mode::one_d}}};

/// The first is the natural one of the mode.
std::vector<Source> sources_of(Mode mode)
{
  std::vector<Source> found;
  std::ranges::copy_if(sources, std::back_inserter(found),
                       [mode](const Source& source) { return source.mode == mode; });
  return found;
}

SourceKind read_source(const Value& value, Mode mode)
{
  const auto kind =
      value.choice<SourceKind>({{"line_current", SourceKind::line_current},
                                {"magnetic_line", SourceKind::magnetic_line},
                                {"dipole", SourceKind::dipole},
                                {"current_sheet", SourceKind::current_sheet}});
  const std::vector<Source> own = sources_of(mode);
  if (!kind) {
    return own.front().kind;
  }
  if (std::ranges::find(own, *kind, &Source::kind) == own.end()) {
    std::vector<std::string> names;
    std::ranges::transform(own, std::back_inserter(names),
                           [](const Source& source) { return std::string(source.name); });
    const Source& given = *std::ranges::find(sources, *kind, &Source::kind);
    value.fault(fmt::format("a {} belongs to mode {}; accepted in mode {}: {}",
                            given.name, mode_name(given.mode), mode_name(mode),
                            listed(names)));
  }
  return *kind;
}

void read_direction(const Value& value, ImplantSpec& implant)
{
  assign(implant.direction, value.quantity(Dimension::angle, any_angle));
  if (implant.source != SourceKind::dipole) {
    value.fault("a direction belongs to the source dipole; remove it");
  }
}

}  // namespace

ImplantSpec read_implant(const Value& value, const TissueNames& names, Mode mode)
{
  ImplantSpec implant;
  Section section(value);
  const char* example = mode == Mode::one_d ? "12 mm" : "[12 mm, -38 mm]";
  assign(implant.position, read_position(section.require("position", example), mode));
  implant.source = read_source(section.get("source"), mode);
  read_direction(section.get("direction"), implant);
  const Value capsule = section.get("capsule");
  if (mode == Mode::one_d) {
    capsule.fault(
        "a capsule is round and belongs to the modes TMz and TEz; in mode 1D write "
        "layers of its material about the sheet");
  } else {
    implant.capsule = read_capsule(capsule, names);
  }
  section.reject_others();
  return implant;
}

}  // namespace torsowave::scenarios
