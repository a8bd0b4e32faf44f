/// \file
/// \brief What a Region asks of an ellipse and of a polygon; see Region for the
/// contracts.

#pragma once

#include <optional>
#include <vector>

#include "geometry/region.hpp"

namespace torsowave::geometry {

[[nodiscard]] Rectangle bounds_of(const EllipseRegion& e) noexcept;
[[nodiscard]] bool inside(const EllipseRegion& e, Point p) noexcept;
[[nodiscard]] double gap(const EllipseRegion& e, Point p) noexcept;
[[nodiscard]] std::optional<HalfPlane> straighten(const EllipseRegion& e, Point center,
                                                  double radius,
                                                  double tolerance) noexcept;
void append_crossings(const EllipseRegion& e, const Segment& segment,
                      std::vector<double>& t);
[[nodiscard]] std::vector<Segment> trace(const EllipseRegion& e, double tolerance,
                                         double longest);

[[nodiscard]] Rectangle bounds_of(const PolygonRegion& polygon) noexcept;
[[nodiscard]] bool inside(const PolygonRegion& polygon, Point p) noexcept;
[[nodiscard]] double gap(const PolygonRegion& polygon, Point p) noexcept;
[[nodiscard]] std::optional<HalfPlane> straighten(const PolygonRegion& polygon,
                                                  Point center, double radius,
                                                  double tolerance) noexcept;
void append_crossings(const PolygonRegion& polygon, const Segment& segment,
                      std::vector<double>& t);
[[nodiscard]] std::vector<Segment> trace(const PolygonRegion& polygon, double tolerance,
                                         double longest);

}  // namespace torsowave::geometry
