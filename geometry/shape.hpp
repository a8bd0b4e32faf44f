/// \file
/// \brief The shapes a slice is painted with.

#pragma once

#include <string>
#include <variant>
#include <vector>

namespace torsowave::geometry {

/// A point of the slice [m]: +x to the patient's left, +y to the front.
struct Point {
  double x = 0.0;
  double y = 0.0;
};

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

struct Rectangle {
  Point min;
  Point max;
};

/// Simple polygon, either orientation, closed implicitly; even-odd rule.
struct Polygon {
  std::vector<Point> points;  ///< at least 3
};

/// The rind inside the outline of the union of all shapes painted so far.
struct Shell {
  double thickness = 0.0;  ///< [m], > 0
};

using Outline = std::variant<Circle, Ellipse, Rectangle, Polygon, Shell>;

/// One coat of paint: later shapes cover earlier ones.
struct Shape {
  std::string tissue;
  Outline outline;
};

}  // namespace torsowave::geometry
