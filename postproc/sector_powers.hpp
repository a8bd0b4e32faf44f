/// \file
/// \brief Power out of the body by sector, the same wherever the contour has its steps.
///
/// A contour of grid edges lies one to two cells outside the skin, with steps, and along
/// the skin much more power may flow than leaves it: cut into sectors where its edges
/// happen to end, it counts some of that on the wrong side, an error of first order in
/// the cell. The sources lie in the body, so that in the air div S = 0, and the power
/// through the skin between two rays is
///   sum of the contour's edges between them + [int S_phi dr] at the ray behind
///                                           - [int S_phi dr] at the ray before,
/// each integral over the gap from the skin to the contour (J. H. Poynting, Phil. Trans.
/// 175 (1884) 343, and Gauss; for the grid derived here). What one sector gains another
/// loses: the sum stays that of the edges.
///
/// S_phi is taken at three places in the air along the ray, and a parabola through them
/// goes on to the skin: fields in cells that an interface cuts are not asked. Where there
/// is room for one place alone, S_phi is taken as what it is there.

#pragma once

#include <functional>
#include <vector>

#include "geometry/sectors.hpp"

namespace torsowave::postproc {

/// Power along +x through the edge left of cell (i, j), or along +y through the edge
/// below it [W/m^2].
using EdgeFlow = std::function<double(bool along_x, int i, int j)>;

/// Net power outward by sector [W/m], (sectors.count).
/// \param edge_power  outward through each edge of the contour [W/m]
[[nodiscard]] std::vector<double> sector_powers(const geometry::Raster& raster,
                                                const geometry::Sectors& sectors,
                                                const std::vector<double>& edge_power,
                                                const EdgeFlow& flow);

}  // namespace torsowave::postproc
