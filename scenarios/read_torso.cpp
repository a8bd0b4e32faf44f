#include <fmt/format.h>

#include "geometry/torso.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

using geometry::TorsoBuild;
using geometry::TorsoLevel;
using geometry::TorsoParameters;

std::optional<TorsoLevel> read_level(Section& section)
{
  return section.require("level", "kidneys")
      .choice<TorsoLevel>({{"thorax", TorsoLevel::thorax},
                           {"upper_abdomen", TorsoLevel::upper_abdomen},
                           {"kidneys", TorsoLevel::kidneys},
                           {"pelvis", TorsoLevel::pelvis}});
}

/// The thicknesses given, and an outline that leaves the same room inside them; the
/// breadth and the depth of the file have the last word.
TorsoParameters read_lengths(Section& section, TorsoParameters torso)
{
  const double before = torso.skin + torso.fat + torso.muscle;
  const auto length = [&](const char* key) {
    return section.get(key).quantity(Dimension::length, positive_length);
  };
  assign(torso.skin, length("skin"));
  assign(torso.fat, length("fat"));
  assign(torso.muscle, length("muscle"));
  const double thicker = torso.skin + torso.fat + torso.muscle - before;
  torso.breadth += 2.0 * thicker;
  torso.depth += 2.0 * thicker;
  assign(torso.breadth, length("breadth"));
  assign(torso.depth, length("depth"));
  return torso;
}

}  // namespace

std::vector<geometry::Shape> read_torso(const Value& value)
{
  Section section(value);
  if (!section) {
    return {};
  }
  const auto level = read_level(section);
  const auto build =
      section.get("build").choice<TorsoBuild>({{"lean", TorsoBuild::lean},
                                               {"median", TorsoBuild::median},
                                               {"heavy", TorsoBuild::heavy}});
  TorsoParameters torso;
  const bool sound = value.reading().sound([&] {
    torso = read_lengths(section,
                         geometry::torso_defaults(level.value_or(TorsoLevel::kidneys),
                                                  build.value_or(TorsoBuild::median)));
    section.reject_others();
  });
  if (!level || (section.get("build") && !build) || !sound) {
    return {};
  }
  try {
    return geometry::torso_shapes(torso);
  } catch (const geometry::TorsoError& error) {
    const Value given = section.get(error.parameter());
    (given ? given : value).fault(error.what());
    return {};
  }
}

}  // namespace torsowave::scenarios
