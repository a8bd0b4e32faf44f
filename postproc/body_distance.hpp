/// \file
/// \brief How far each cell of a slice is from the body.

#pragma once

#include <vector>

#include "geometry/shape.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// The body as a stored result shows it: all cells but the background that can be reached
/// from the slice's border.
struct BodyDistance {
  std::vector<double>
      cells;  ///< (ny, nx) to the nearest cell of the body [cells]; 0 inside
  geometry::Point centroid;  ///< of the body's cells [m]
};

/// Exact Euclidean distances (P. F. Felzenszwalb, D. P. Huttenlocher, Theory of Computing
/// 8 (2012) 415-428, from memory). \throws std::invalid_argument  There is no body, or
/// labels do not fill the grid.
[[nodiscard]] BodyDistance body_distance(const Result& result);

}  // namespace torsowave::postproc
