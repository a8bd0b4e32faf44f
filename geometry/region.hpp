/// \file
/// \brief A closed region bounded by an ellipse or a polygon: the questions the painter
/// asks.

#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "geometry/shape.hpp"

namespace torsowave::geometry {

/// A straight piece of an outline.
struct Segment {
  Point a;
  Point b;
};

/// What an outline is to a small block: a straight line.
/// The points p with `distance` + n . (p - centre) <= 0 are inside.
struct HalfPlane {
  double nx = 0.0;  ///< outward unit normal
  double ny = 0.0;
  double distance = 0.0;  ///< of the block's centre from the line, > 0 outside [m]
};

/// Ellipse, ready for use: a circle has equal semi-axes.
struct EllipseRegion {
  Point center;
  double a = 0.0;  ///< semi-axes [m]
  double b = 0.0;
  double cosine = 1.0;  ///< of the rotation
  double sine = 0.0;
};

/// Polygon; a rectangle is one too.
struct PolygonRegion {
  std::vector<Point> points;
};

/// A closed set of points of the slice: its outline belongs to it.
class Region {
public:
  /// \param name  what messages call the shape, e.g. "shape 3 (fat)".
  /// \throws std::invalid_argument  The shape is a Shell or a LabelMap, degenerate, or
  /// not finite.
  Region(const Outline& outline, const std::string& name);

  [[nodiscard]] bool contains(Point p) const noexcept;

  /// A lower bound of the distance from `p` to the outline [m]; exact for circles and
  /// polygons.
  [[nodiscard]] double outline_gap(Point p) const noexcept;

  /// The outline within `radius` of `center` as a straight line, if it is one to within
  /// `tolerance` [m]; empty if not.
  [[nodiscard]] std::optional<HalfPlane> half_plane(Point center, double radius,
                                                    double tolerance) const noexcept;

  /// Appends the parameters t in (0, 1) at which a + t (b - a) crosses the outline.
  void crossings(const Segment& segment, std::vector<double>& t) const;

  /// The outline as a closed polyline. An ellipse's deviates by at most `tolerance` [m]
  /// and encloses the ellipse's exact area; a polygon's edges are cut to at most
  /// `longest` [m].
  [[nodiscard]] std::vector<Segment> polyline(double tolerance, double longest) const;

  [[nodiscard]] const Rectangle& bounds() const noexcept { return bounds_; }

private:
  std::variant<EllipseRegion, PolygonRegion> form_;
  Rectangle bounds_;
};

/// Squared distance from `p` to a segment [m^2]; `nearest` receives the closest point.
[[nodiscard]] double squared_distance(Point p, const Segment& segment,
                                      Point& nearest) noexcept;

}  // namespace torsowave::geometry
