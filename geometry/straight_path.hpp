/// \file
/// \brief Straight lines through a slice: which tissues a ray crosses, and the shortest
/// way out of the body.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "geometry/body_surface.hpp"
#include "geometry/paint_stack.hpp"

namespace torsowave::geometry {

/// A stretch of one tissue.
struct PathPiece {
  std::uint16_t tissue = 0;  ///< as PaintStack::tissues() numbers them
  double length = 0.0;       ///< [m], > 0
};

/// The tissues along a line, in order; neighbours differ. Interfaces are found to a
/// thousandth of `step`; a stretch shorter than `step` may be missed.
/// \param step  of the search [m], > 0
/// \throws std::invalid_argument  The step is not positive, or the ends coincide.
[[nodiscard]] std::vector<PathPiece> cut_line(const PaintStack& paint, Point from,
                                              Point to, double step);

/// The shortest straight way from a point inside the body to the outside, cut into
/// tissues: towards the nearest edge between a cell of the body and one outside it, to
/// where the line leaves the last tissue. Enclosed gas counts as body, with what is
/// painted there as a piece of its own.
/// \return  empty where the point is not in the body, or the body has no edge in the
///          slice
[[nodiscard]] std::optional<std::vector<PathPiece>> shortest_way_out(
    const PaintStack& paint, const Raster& raster, const Body& body, Point from);

/// The body's cell nearest to a point [m], its centre; the body is not empty.
[[nodiscard]] Point nearest_of_body(const Raster& raster, const Body& body, Point from);

/// Without the background at its beginning and end.
[[nodiscard]] std::vector<PathPiece> without_outside(std::vector<PathPiece> pieces);

}  // namespace torsowave::geometry
