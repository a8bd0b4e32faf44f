/// \file
/// \brief The outline of a union of regions, as segments.

#pragma once

#include <span>
#include <vector>

#include "geometry/region.hpp"

namespace torsowave::geometry {

/// The outline of the union of `regions`: every region's outline without the pieces that
/// lie inside the union, seams between touching regions included.
///
/// Curves deviate from their polyline by at most 2.5e-7 of the union's size (half of its
/// bounding box's diagonal; under 0.1 um for a torso), without bias; gaps between regions
/// that are narrower than 4e-6 of that size count as closed.
[[nodiscard]] std::vector<Segment> union_outline(std::span<const Region* const> regions);

}  // namespace torsowave::geometry
