#include <cmath>

#include "scenarios/sections.hpp"

namespace torsowave::scenarios {
namespace {

std::optional<geometry::Outline> read_circle(const Value& value)
{
  Section section(value);
  const auto center = read_point(section.require("center", "[0 mm, -60 mm]"));
  const auto radius =
      section.require("radius", "18 mm").quantity(Dimension::length, positive_length);
  section.reject_others();
  if (!center || !radius) {
    return std::nullopt;
  }
  return geometry::Circle{*center, *radius};
}

std::optional<geometry::Outline> read_ellipse(const Value& value)
{
  Section section(value);
  const auto center = read_point(section.require("center", "[0 mm, 0 mm]"));
  const auto axes = section.require("semi_axes", "[170 mm, 110 mm]")
                        .items("a list of two lengths, e.g. [170 mm, 110 mm]", 2, 2);
  const Value angle = section.get("rotation");
  const auto rotation = angle.quantity(Dimension::angle, any_angle);
  section.reject_others();
  if (!axes) {
    return std::nullopt;
  }
  const auto a = (*axes)[0].quantity(Dimension::length, positive_length);
  const auto b = (*axes)[1].quantity(Dimension::length, positive_length);
  if (!center || !a || !b || (angle && !rotation)) {
    return std::nullopt;
  }
  return geometry::Ellipse{*center, *a, *b, rotation.value_or(0.0)};
}

std::optional<geometry::Outline> read_rectangle(const Value& value)
{
  Section section(value);
  const auto min = read_point(section.require("min", "[-20 mm, -10 mm]"));
  const auto max = read_point(section.require("max", "[20 mm, 10 mm]"));
  section.reject_others();
  if (!min || !max) {
    return std::nullopt;
  }
  if (min->x >= max->x || min->y >= max->y) {
    value.fault("min must be below max in x and in y; exchange the coordinates");
    return std::nullopt;
  }
  return geometry::Rectangle{*min, *max};
}

/// Twice the enclosed area over the sum of its terms' sizes: 0 for points on one line.
double relative_area(const std::vector<geometry::Point>& points)
{
  double area = 0.0;
  double scale = 0.0;
  const geometry::Point origin = points.front();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const geometry::Point& a = points[i];
    const geometry::Point& b = points[(i + 1) % points.size()];
    const double first = (a.x - origin.x) * (b.y - origin.y);
    const double second = (a.y - origin.y) * (b.x - origin.x);
    area += first - second;
    scale += std::abs(first) + std::abs(second);
  }
  return scale > 0.0 ? std::abs(area) / scale : 0.0;
}

std::optional<geometry::Outline> read_polygon(const Value& value)
{
  const auto items = value.items("a list of at least 3 points [x, y]", 3, max_nodes);
  if (!items) {
    return std::nullopt;
  }
  geometry::Polygon polygon;
  for (const Value& item : *items) {
    if (const auto point = read_point(item)) {
      polygon.points.push_back(*point);
    }
  }
  if (polygon.points.size() < items->size()) {
    return std::nullopt;
  }
  if (relative_area(polygon.points) < 1e-12) {
    value.fault("the points enclose no area; give the corners in order around the shape");
    return std::nullopt;
  }
  return polygon;
}

std::optional<geometry::Outline> read_shell(const Value& value)
{
  Section section(value);
  const auto thickness =
      section.require("thickness", "2 mm").quantity(Dimension::length, positive_length);
  section.reject_others();
  return thickness ? std::optional<geometry::Outline>{geometry::Shell{*thickness}}
                   : std::nullopt;
}

}  // namespace

std::optional<geometry::Outline> read_outline(Section& shape)
{
  const Value value =
      shape.exactly_one({"circle", "ellipse", "rectangle", "polygon", "shell"});
  if (!value) {
    return std::nullopt;
  }
  const auto is = [&](const char* key) { return value.path() == shape.path_of(key); };
  if (is("circle")) {
    return read_circle(value);
  }
  if (is("ellipse")) {
    return read_ellipse(value);
  }
  if (is("rectangle")) {
    return read_rectangle(value);
  }
  return is("polygon") ? read_polygon(value) : read_shell(value);
}

}  // namespace torsowave::scenarios
