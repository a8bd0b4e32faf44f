/// \file
/// \brief The shapes a slice is painted with.

#pragma once

#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "geometry/label_grid.hpp"
#include "geometry/points.hpp"

namespace torsowave::geometry {

struct Circle {
  Point center;
  double radius = 0.0;  ///< [m], > 0
};

struct Ellipse {
  Point center;
  double semi_axis_x = 0.0;  ///< [m], > 0, before the rotation
  double semi_axis_y = 0.0;  ///< [m], > 0
  double rotation = 0.0;     ///< [rad], counter-clockwise
};

/// Simple polygon, either orientation, closed implicitly; even-odd rule.
struct Polygon {
  std::vector<Point> points;  ///< at least 3
};

/// The rind inside the outline of the union of all shapes painted so far.
struct Shell {
  double thickness = 0.0;  ///< [m], > 0
};

/// A whole slice as pixels, air included: the first of all shapes, under the others. Its
/// tissues are its own; the shape's tissue is empty.
struct LabelMap {
  std::shared_ptr<const LabelGrid> grid;
};

using Outline = std::variant<Circle, Ellipse, Rectangle, Polygon, Shell, LabelMap>;

/// One coat of paint: later shapes cover earlier ones.
struct Shape {
  std::string tissue;
  Outline outline;
};

}  // namespace torsowave::geometry
