/// \file
/// \brief Smooth closed outlines from few points; all lengths [m].

#pragma once

#include <vector>

#include "geometry/shape.hpp"

namespace torsowave::geometry::torso {

/// Corners of a polygon, counter-clockwise, closed implicitly.
using Curve = std::vector<Point>;

/// A closed curve through `knots`: centripetal Catmull-Rom, which makes no loops between
/// knots (C. Yuksel, S. Schaefer, J. Keyser, "On the parameterization of Catmull-Rom
/// curves", 2009 SIAM/ACM Joint Conference on Geometric and Physical Modeling), from
/// memory. \param pieces  chords from knot to knot. \pre At least 3 knots, neighbours
/// apart.
[[nodiscard]] Curve smooth(const std::vector<Point>& knots, int pieces = 4);

/// An ellipse that is not quite one: r(t) = 1 + two cos(2 t + phase) + three cos(3 t -
/// phase), in units of the semi-axes. Neither bowel nor kidney is an ellipse.
struct Blob {
  Point center;
  double semi_axis_x = 0.0;
  double semi_axis_y = 0.0;
  double rotation = 0.0;  ///< [deg]
  double two = 0.0;
  double three = 0.0;
  double phase = 0.0;  ///< [deg]
};
[[nodiscard]] Curve outline_of(const Blob& blob);

/// `curve` moved inward at right angles by `distance` (outward where it is negative).
/// \pre The curve is smooth and nowhere bent more sharply than that.
[[nodiscard]] Curve inset(const Curve& curve, double distance);

/// The part of `curve` above the horizontal through `y`: gas in a hollow organ of a
/// patient who lies on the back. Empty if nothing is.
[[nodiscard]] Curve above(const Curve& curve, double y);

/// `curve` pressed against the inside of `limit`: points beyond it go to the nearest one
/// on it. \pre `limit` is smooth, with chords short beside its bends.
[[nodiscard]] Curve pressed(const Curve& curve, const Curve& limit);

[[nodiscard]] Point mirrored(Point p) noexcept;
[[nodiscard]] Curve mirrored(const Curve& curve);
[[nodiscard]] Blob mirrored(Blob blob) noexcept;

}  // namespace torsowave::geometry::torso
