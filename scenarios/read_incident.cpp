#include <cmath>
#include <numbers>

#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

/// Mode 1D: 0 for +x, pi for -x; empty for any other direction.
std::optional<double> along_x(double angle)
{
  constexpr double slack = 1e-9;  // of decimal degrees turned into radians
  const double half_turns = std::abs(angle) / std::numbers::pi;
  const double nearest = std::round(half_turns);
  if (std::abs(half_turns - nearest) > slack) {
    return std::nullopt;
  }
  return nearest == 1.0 ? std::numbers::pi : 0.0;
}

}  // namespace

IncidentSpec read_incident(const Value& value, Mode mode)
{
  IncidentSpec incident;
  Section section(value);
  Section wave(section.require("plane_wave", "{angle: 0 deg}"));
  const Value angle_value = wave.get("angle");
  const auto angle = angle_value.quantity(Dimension::angle, any_angle);
  wave.reject_others();
  section.reject_others();
  if (!angle || mode != Mode::one_d) {
    assign(incident.angle, angle);
    return incident;
  }
  const auto along = along_x(*angle);
  if (!along) {
    angle_value.fault(
        "in mode 1D a wave travels along x; write 0 deg (to the right) or 180 deg (to "
        "the left); for oblique waves see \"torsowave slab --angle\"");
  }
  assign(incident.angle, along);
  return incident;
}

}  // namespace torsowave::scenarios
