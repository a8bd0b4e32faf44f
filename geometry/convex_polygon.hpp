/// \file
/// \brief A small convex polygon that can be cut by a straight line.

#pragma once

#include <array>
#include <cstddef>

#include "geometry/region.hpp"

namespace torsowave::geometry {

/// Convex, counter-clockwise, on the stack. Starts as a square; each cut adds one corner
/// at most.
class ConvexPolygon {
public:
  static constexpr std::size_t most_cuts = 12;

  /// Beyond those: four more cut a rectangle out.
  static constexpr std::size_t last_cuts = 4;

  /// The square of this edge about the origin.
  explicit ConvexPolygon(double edge) noexcept;

  /// The part with distance + n . p <= 0 (`inside`) or >= 0; may be empty.
  /// \pre No more than most_cuts + last_cuts cuts in a row.
  [[nodiscard]] ConvexPolygon part(const HalfPlane& line, bool inside) const noexcept;

  [[nodiscard]] bool empty() const noexcept { return count_ < 3; }
  [[nodiscard]] double area() const noexcept;

private:
  ConvexPolygon() noexcept = default;
  void add(Point p) noexcept { points_[count_++] = p; }

  std::array<Point, 4 + most_cuts + last_cuts> points_{};
  std::size_t count_ = 0;
};

}  // namespace torsowave::geometry
