#include <fmt/format.h>

#include <numbers>

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

SourceKind read_source(const Value& value)
{
  const auto kind =
      value.choice<SourceKind>({{"line_current", SourceKind::line_current},
                                {"magnetic_line", SourceKind::magnetic_line},
                                {"dipole", SourceKind::dipole},
                                {"current_sheet", SourceKind::current_sheet}});
  if (kind && *kind != SourceKind::line_current) {
    not_in_this_version(value, fmt::format("the source {} is", value.node()->text),
                        "line_current");
  }
  return kind.value_or(SourceKind::line_current);
}

void read_direction(const Value& value, ImplantSpec& implant)
{
  constexpr double turn = 2.0 * std::numbers::pi;
  assign(implant.direction,
         value.quantity(Dimension::angle, {-turn - 1e-9, turn + 1e-9, false,
                                           "within -360 deg to 360 deg"}));
  if (implant.source != SourceKind::dipole) {
    value.fault("a direction belongs to the source dipole; remove it");
  }
}

}  // namespace

ImplantSpec read_implant(const Value& value, const TissueNames& names)
{
  ImplantSpec implant;
  Section section(value);
  assign(implant.position, read_point(section.require("position", "[12 mm, -38 mm]")));
  implant.source = read_source(section.get("source"));
  read_direction(section.get("direction"), implant);
  implant.capsule = read_capsule(section.get("capsule"), names);
  section.reject_others();
  return implant;
}

}  // namespace torsowave::scenarios
