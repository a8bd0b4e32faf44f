/// \file
/// \brief Closed contours of grid edges: the body's surface, and a rectangle in the air.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

/// One grid edge of a contour, between the cell inside it and its neighbour outside.
struct ContourEdge {
  int i = 0;  ///< cell inside
  int j = 0;
  int di = 0;  ///< outward normal: exactly one of di, dj is +1 or -1
  int dj = 0;
};

/// A closed contour: the boundary of a set of cells. No edge lies on the raster's rim.
struct Contour {
  std::vector<std::uint8_t> inside;  ///< (ny, nx), 1 for cells enclosed
  std::vector<ContourEdge> edges;    ///< row by row; the order is fixed by the mask alone
};

/// The boundary of a mask of cells.
/// \throws std::invalid_argument  A cell on the raster's rim is set.
[[nodiscard]] Contour contour_of(const Raster& raster, std::vector<std::uint8_t> inside);

/// The rectangle of all cells that are at least `margin` cells away from the rim.
/// \throws std::invalid_argument  `margin` < 1, or no cell is left.
[[nodiscard]] Contour rectangle_contour(const Raster& raster, int margin);

/// Sets every cell that the rim can't reach over clear cells in 4-neighbour steps.
/// \param mask  (ny, nx), 1 for cells that are set
[[nodiscard]] std::vector<std::uint8_t> fill_holes(const Raster& raster,
                                                   const std::vector<std::uint8_t>& mask);

/// Whether one of the 9 cells about (i, j) has `value`; there is none beyond the rim.
[[nodiscard]] bool any_near(const Raster& raster, const std::vector<std::uint8_t>& mask,
                            int i, int j, std::uint8_t value);

/// Area of a cell that the body fills [quanta]. Background in a cell that touches the
/// outside is outside, elsewhere part of a hole.
/// \param body_cells  Body::cells
[[nodiscard]] int body_quanta(const TissueMap& map,
                              const std::vector<std::uint8_t>& body_cells, int i, int j);

/// What belongs to the body, with holes filled (gas in the bowel is inside the body).
struct Body {
  std::vector<std::uint8_t> cells;  ///< (ny, nx), 1 where any share is not background
  Point centroid;                   ///< by their fractions, holes counted [m]
  double area = 0.0;                ///< of the body by its fractions, holes counted [m^2]
  int clearance = 0;  ///< cells of pure background between body and rim; 0 if it touches
};

/// \throws std::invalid_argument  The map holds background alone.
[[nodiscard]] Body find_body(const TissueMap& map);

/// The contour one cell outside all cells that hold any body tissue. Pockets of air that
/// closing in by one cell would cut off are inside it, so each part of the body has one
/// loop. \throws std::invalid_argument  The body comes closer than 2 cells to the rim.
[[nodiscard]] Contour body_surface(const TissueMap& map, const Body& body);

/// How far a body goes.
struct BodyReach {
  /// From the origin of coordinates to where the body ends for good in that direction, by
  /// direction; 0 where the body is not on that way [m].
  std::vector<double> to_skin;
  double extent = 0.0;  ///< largest distance between two of its points [m]
};

/// Whole cells count, so that both figures are up to a cell's diagonal too large.
/// \param angles  directions [rad]
[[nodiscard]] BodyReach body_reach(const Raster& raster, const Body& body,
                                   std::span<const double> angles);

}  // namespace torsowave::geometry
