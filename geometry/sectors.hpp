/// \file
/// \brief The skin cut into sectors by rays from a centre.
///
/// Powers are counted on a contour of grid edges in the air, which has steps; a sector is
/// the skin between two rays. Both belong together by the divergence theorem: what goes
/// through the skin between two rays goes through the contour between them, but for what
/// crosses the rays in the gap between skin and contour. \see docs/numerics.md, section 9

#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "geometry/body_surface.hpp"

namespace torsowave::geometry {

/// Where the ray between two sectors crosses an edge of the contour.
struct SectorEnd {
  std::size_t edge = 0;  ///< of Contour::edges
  int from =
      0;       ///< sector of what lies before the ray, counter-clockwise about the inside
  int to = 0;  ///< sector behind it
  double behind = 0.0;  ///< share of the edge behind the ray [1]
  Point away;           ///< unit vector along the ray, out of the body
  Point skin;           ///< where the ray meets the skin [m]
  double gap = 0.0;  ///< from there to the edge [m]; 0: the skin was not found, or is too
                     ///< near to other parts of the body
  /// In distances [m] from `skin` along `away` of first_sample + n sample_step, n = 0 to
  /// 2, there is nothing but air within a cell.
  double first_sample = 0.0;
  double sample_step = 0.0;  ///< 0: there is room for one sample alone
};

struct Sectors {
  int count = 0;                ///< sector s is centred on the angle 2 pi s/count
  std::vector<int> of_edge;     ///< sector of each edge's beginning
  std::vector<SectorEnd> ends;  ///< by edge, and along it
};

/// How far from the body's cells the fields beside a SectorEnd are asked for [cells].
inline constexpr int sector_reach = 11;

/// \param contour  of the body: body_surface()
/// \param limit    (ny, nx), 1 where fields may be sampled
/// \param centre   where the rays begin [m]
/// \param count    of sectors, >= 1
[[nodiscard]] Sectors cut_sectors(const TissueMap& map, const Body& body,
                                  const Contour& contour,
                                  const std::vector<std::uint8_t>& limit, Point centre,
                                  int count);

}  // namespace torsowave::geometry
