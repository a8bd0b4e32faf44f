#include "geometry/torso.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>

#include "geometry/torso_layout_internal.hpp"

namespace torsowave::geometry {
namespace {

constexpr double mm = 1e-3;

/// Outer breadth and depth, fat and muscle by level and build [mm]; sources and what is
/// invented: docs/torso.md. From the 5th, 50th and 95th percentiles of men in Gordon et
/// al., "2012 Anthropometric Survey of U.S. Army Personnel: methods and summary
/// statistics", NATICK/TR-15/007 (2014), computed from the public data file:
/// - thorax: chest depth; breadth such that the outline has the chest circumference
///   (922, 1056, 1207 mm);
/// - kidneys: waist breadth, waist depth (and not: circumference, with which it is
/// compared);
/// - upper abdomen: half way between thorax and kidneys;
/// - pelvis: hip breadth, buttock depth.
struct Build {
  double breadth, depth, fat, muscle;
};
constexpr std::array<std::array<Build, 3>, 4> builds{{
    {{{327.0, 211.0, 6.0, 20.0}, {369.0, 253.0, 14.0, 26.0}, {417.0, 298.0, 26.0, 27.0}}},
    {{{299.5, 199.5, 6.0, 14.0}, {347.0, 243.5, 14.0, 16.0}, {401.0, 299.0, 26.0, 17.0}}},
    {{{272.0, 188.0, 7.0, 13.0}, {325.0, 234.0, 16.0, 15.0}, {385.0, 300.0, 31.0, 16.0}}},
    {{{308.0, 204.0, 9.0, 11.0}, {344.0, 246.0, 18.0, 12.0}, {387.0, 291.0, 32.0, 13.0}}},
}};

/// Mean at the front of the abdomen, 449 adults, ultrasound, from the study's abstract.
constexpr double skin = 2.35;  // [mm]

void check_thickness(const char* name, double value)
{
  const TorsoLimits limits = torso_thickness_limits(name);
  if (!(value >= limits.least && value <= limits.largest)) {
    throw TorsoError(name,
                     fmt::format("must be {:.4g} mm to {:.4g} mm, got {:.4g} mm",
                                 limits.least / mm, limits.largest / mm, value / mm));
  }
}

torso::LevelForm form_of(TorsoLevel level)
{
  switch (level) {
    case TorsoLevel::thorax:
      return torso::thorax_form();
    case TorsoLevel::upper_abdomen:
      return torso::upper_abdomen_form();
    case TorsoLevel::kidneys:
      return torso::kidneys_form();
    case TorsoLevel::pelvis:
      return torso::pelvis_form();
  }
  throw std::logic_error("level of a torso without a form");
}

void paint_level(TorsoLevel level, torso::Painter& paint, const torso::Layout& in)
{
  switch (level) {
    case TorsoLevel::thorax:
      return torso::paint_thorax(paint, in);
    case TorsoLevel::upper_abdomen:
      return torso::paint_upper_abdomen(paint, in);
    case TorsoLevel::kidneys:
      return torso::paint_kidneys(paint, in);
    case TorsoLevel::pelvis:
      return torso::paint_pelvis(paint, in);
  }
}

}  // namespace

TorsoParameters torso_defaults(TorsoLevel level, TorsoBuild build)
{
  const Build& b =
      builds.at(static_cast<std::size_t>(level)).at(static_cast<std::size_t>(build));
  return {level, b.breadth * mm, b.depth * mm, skin * mm, b.fat * mm, b.muscle * mm};
}

TorsoLimits torso_thickness_limits(std::string_view parameter)
{
  if (parameter == "skin") {
    return {1.0 * mm, 5.0 * mm};
  }
  if (parameter == "fat") {
    return {1.0 * mm, 50.0 * mm};
  }
  if (parameter == "muscle") {
    return {10.0 * mm, 30.0 * mm};
  }
  throw std::logic_error("no thickness of a torso");
}

std::vector<Shape> torso_shapes(const TorsoParameters& p)
{
  check_thickness("skin", p.skin);
  check_thickness("fat", p.fat);
  check_thickness("muscle", p.muscle);
  const torso::Layout in(p, form_of(p.level));
  std::vector<Shape> shapes{
      {"skin_dry", Polygon{in.outline().parallel(0.0)}},
      {"fat_not_infiltrated", Polygon{in.outline().parallel(p.skin)}}};
  torso::Painter paint(in);
  paint_level(p.level, paint, in);
  std::ranges::move(paint.take(), std::back_inserter(shapes));
  return shapes;
}

}  // namespace torsowave::geometry
