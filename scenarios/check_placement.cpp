#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>

#include "scenarios/layer_stack.hpp"
#include "scenarios/message_text.hpp"
#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

std::string show_interval(double from, double to)
{
  return fmt::format("{:.4g} mm to {:.4g} mm", 1e3 * from, 1e3 * to);
}

/// The part of x, or of y, that the domain holds [m].
struct Interval {
  double from = 0.0;
  double to = 0.0;
  [[nodiscard]] bool holds(double value) const { return from < value && value < to; }
};

/// The origin is the centre of the domain; in mode 1D its middle is that of the layers.
Interval domain_x(const Scenario& scenario)
{
  const double half = 0.5 * (*scenario.grid.size)[0];
  if (scenario.mode != Mode::one_d) {
    return {-half, half};
  }
  const LayerStack stack = layer_stack(scenario.body);
  const double middle = 0.5 * (stack.first_face + stack.last_face);
  return {middle - half, middle + half};
}

void check_in_domain(const std::string& key, geometry::Point point,
                     const Scenario& scenario, Reading& reading)
{
  if (!scenario.grid.size) {
    return;
  }
  const Interval x = domain_x(scenario);
  std::string range = "x " + show_interval(x.from, x.to);
  bool inside = x.holds(point.x);
  if (scenario.mode != Mode::one_d) {
    const double half = 0.5 * (*scenario.grid.size)[1];
    range += ", y " + show_interval(-half, half);
    inside = inside && Interval{-half, half}.holds(point.y);
  }
  if (!inside) {
    reading.fault_at(key, fmt::format("lies outside the domain; move it within {}, or "
                                      "enlarge grid.size",
                                      range));
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
      const std::string key = i < body.torso_shapes
                                  ? "body.torso"
                                  : fmt::format("body.shapes[{}]", i - body.torso_shapes);
      words = fmt::format("{} ({}) is nearest, within x {}, y {}", key, shape.tissue,
                          show_interval(box.min.x, box.max.x),
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

/// What surrounds the layers is no place for an implant.
void check_layer(const Scenario& scenario, const TissueNames& names, Reading& reading)
{
  const std::string key = "implant.position";
  const double x = scenario.implant->position.x;
  const LayerStack stack = layer_stack(scenario.body);
  const bool in_first = x < stack.first_face;
  const bool in_last = x > stack.last_face;
  const bool beyond =
      (in_first && !stack.first_in_body) || (in_last && !stack.last_in_body);
  const std::string& outer = in_first ? stack.first : stack.last;
  if (beyond || ((in_first || in_last) && outer == scenario.body.background)) {
    reading.fault_at(
        key, fmt::format("the implant is in the background ({}), outside the layers, "
                         "which take x {}; move it into them",
                         scenario.body.background,
                         show_interval(stack.first_face, stack.last_face)));
    return;
  }
  const std::string& tissue = x <= stack.first_face ? stack.first : stack.tissue_at(x);
  if (names.is_conductor(tissue)) {
    reading.fault_at(
        key, fmt::format("the source stands in or on {}, a perfect conductor; move it",
                         in_quotes(tissue)));
  }
}

void check_stack_fits(const Scenario& scenario, Reading& reading)
{
  const LayerStack stack = layer_stack(scenario.body);
  const double thickness = stack.last_face - stack.first_face;
  if (scenario.grid.size && (*scenario.grid.size)[0] <= thickness) {
    reading.fault_at("grid.size",
                     fmt::format("does not hold the layers, which are {:.4g} mm thick; "
                                 "enlarge it, or write grid.margin instead",
                                 1e3 * thickness));
  }
}

/// A plane wave must be able to exist where it comes from.
void check_incident(const Scenario& scenario, const TissueNames& names, Reading& reading)
{
  const BodySpec& body = scenario.body;
  if (scenario.mode != Mode::one_d) {
    if (!names.is_lossless(body.background)) {
      reading.fault_at(
          "incident",
          fmt::format("a plane wave needs a background without loss, and {} has some; "
                      "write body.background: air, or another lossless medium",
                      in_quotes(body.background)));
    }
    return;
  }
  const LayerStack stack = layer_stack(body);
  const bool from_left = scenario.incident->angle == 0.0;
  const std::string& origin = from_left ? stack.first : stack.last;
  if (names.is_conductor(origin)) {
    reading.fault_at("incident",
                     fmt::format("the wave comes from the {}, where {} is a perfect "
                                 "conductor; turn it round (angle: {} deg)",
                                 from_left ? "left" : "right", in_quotes(origin),
                                 from_left ? 180 : 0));
  }
}

void check_source(const Scenario& scenario, const TissueNames& names, Reading& reading)
{
  if (scenario.incident) {
    check_incident(scenario, names, reading);
  } else if (scenario.implant && scenario.mode == Mode::one_d) {
    check_layer(scenario, names, reading);
  } else if (scenario.implant) {
    check_medium(scenario, names, reading);
  }
}

}  // namespace

void check_placement(const Scenario& scenario, const TissueNames& names,
                     const Sound& sound, Reading& reading)
{
  const bool one_d = scenario.mode == Mode::one_d;
  const bool domain = sound.grid && (sound.body || !one_d);
  if (domain && one_d) {
    check_stack_fits(scenario, reading);
  }
  if (sound.implant && domain && scenario.implant) {
    check_in_domain("implant.position", scenario.implant->position, scenario, reading);
  }
  if (sound.implant && sound.body) {
    check_source(scenario, names, reading);
  }
  const std::vector<ProbeSpec>& probes = scenario.outputs.probes;
  for (std::size_t i = 0; sound.outputs && domain && i < probes.size(); ++i) {
    check_in_domain(fmt::format("outputs.probes[{}].position", i), probes[i].position,
                    scenario, reading);
  }
}

}  // namespace torsowave::scenarios
