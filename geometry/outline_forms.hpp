/// \file
/// \brief What a Region asks of an ellipse and of a polygon; see Region for the
/// contracts.

#pragma once

#include <optional>
#include <vector>

#include "geometry/region.hpp"

namespace torsowave::geometry {

[[nodiscard]] Rectangle bounds_of(const EllipseRegion& form) noexcept;
[[nodiscard]] bool inside(const EllipseRegion& form, Point p) noexcept;
[[nodiscard]] double gap(const EllipseRegion& form, Point p) noexcept;
[[nodiscard]] std::optional<HalfPlane> straighten(const EllipseRegion& form, Point center,
                                                  double radius,
                                                  double tolerance) noexcept;
void append_crossings(const EllipseRegion& form, const Segment& segment,
                      std::vector<double>& t);
[[nodiscard]] std::vector<Segment> trace(const EllipseRegion& form, double tolerance,
                                         double longest);

[[nodiscard]] Rectangle bounds_of(const PolygonRegion& form) noexcept;
[[nodiscard]] bool inside(const PolygonRegion& form, Point p) noexcept;
[[nodiscard]] double gap(const PolygonRegion& form, Point p) noexcept;
[[nodiscard]] std::optional<HalfPlane> straighten(const PolygonRegion& form, Point center,
                                                  double radius,
                                                  double tolerance) noexcept;
void append_crossings(const PolygonRegion& form, const Segment& segment,
                      std::vector<double>& t);
[[nodiscard]] std::vector<Segment> trace(const PolygonRegion& form, double tolerance,
                                         double longest);

}  // namespace torsowave::geometry
