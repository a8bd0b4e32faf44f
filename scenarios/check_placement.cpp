#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

std::string show_interval(double from, double to)
{
  return fmt::format("{:.4g} mm to {:.4g} mm", 1e3 * from, 1e3 * to);
}

/// The origin is the centre of the domain.
void check_in_domain(const std::string& key, geometry::Point point, const GridSpec& grid,
                     Reading& reading)
{
  if (!grid.size) {
    return;
  }
  const double half_x = 0.5 * (*grid.size)[0];
  const double half_y = 0.5 * (*grid.size)[1];
  if (std::abs(point.x) >= half_x || std::abs(point.y) >= half_y) {
    reading.fault_at(
        key, fmt::format("lies outside the domain; move it within x {}, y {}, or enlarge "
                         "grid.size",
                         show_interval(-half_x, half_x), show_interval(-half_y, half_y)));
  }
}

/// Distance from a point to a rectangle, 0 inside [m].
double distance(geometry::Point point, const geometry::Rectangle& box)
{
  const double dx = std::max({box.min.x - point.x, 0.0, point.x - box.max.x});
  const double dy = std::max({box.min.y - point.y, 0.0, point.y - box.max.y});
  return std::hypot(dx, dy);
}

/// The shape of the body whose bounding box is nearest, in words.
std::string nearest_shape(geometry::Point point, const BodySpec& body)
{
  double least = std::numeric_limits<double>::infinity();
  std::string words;
  for (std::size_t i = 0; i < body.shapes.size(); ++i) {
    const geometry::Shape& shape = body.shapes[i];
    if (shape.tissue == body.background ||
        std::holds_alternative<geometry::Shell>(shape.outline)) {
      continue;
    }
    const geometry::Rectangle box = geometry::bounding_box({shape});
    if (distance(point, box) < least) {
      least = distance(point, box);
      words = fmt::format("body.shapes[{}] ({}) is nearest, within x {}, y {}", i,
                          shape.tissue, show_interval(box.min.x, box.max.x),
                          show_interval(box.min.y, box.max.y));
    }
  }
  return words;
}

/// What lies at a point if shapes of the background's tissue cut no holes: a gas-filled
/// hollow in the body is inside the body.
std::string tissue_without_hollows(geometry::Point point, const BodySpec& body)
{
  std::vector<geometry::Shape> solid;
  std::ranges::copy_if(body.shapes, std::back_inserter(solid), [&](const auto& shape) {
    const bool shell_of_nothing =
        solid.empty() && std::holds_alternative<geometry::Shell>(shape.outline);
    return shape.tissue != body.background && !shell_of_nothing;
  });
  return geometry::tissue_at(point, body.background, solid);
}

void check_medium(const Scenario& scenario, const TissueNames& names, Reading& reading)
{
  const std::string key = "implant.position";
  const BodySpec& body = scenario.body;
  const geometry::Point point = scenario.implant->position;
  const std::string tissue = geometry::tissue_at(point, body.background, body.shapes);
  if (tissue_without_hollows(point, body) == body.background) {
    const std::string nearest = nearest_shape(point, body);
    reading.fault_at(
        key, fmt::format("the implant is in the background ({}), outside the body; "
                         "move it into a shape{}{}",
                         body.background, nearest.empty() ? "" : ": ", nearest));
  } else if (!scenario.implant->capsule && names.is_conductor(tissue)) {
    reading.fault_at(
        key, fmt::format("the source stands in {}, a perfect conductor; move it, or "
                         "give it a capsule of a dielectric",
                         in_quotes(tissue)));
  }
}

}  // namespace

void check_placement(const Scenario& scenario, const TissueNames& names,
                     const Sound& sound, Reading& reading)
{
  if (sound.implant && sound.grid && scenario.implant) {
    check_in_domain("implant.position", scenario.implant->position, scenario.grid,
                    reading);
  }
  if (sound.implant && sound.body && scenario.implant) {
    check_medium(scenario, names, reading);
  }
  const std::vector<ProbeSpec>& probes = scenario.outputs.probes;
  for (std::size_t i = 0; sound.outputs && sound.grid && i < probes.size(); ++i) {
    check_in_domain(fmt::format("outputs.probes[{}].position", i), probes[i].position,
                    scenario.grid, reading);
  }
}

}  // namespace torsowave::scenarios
