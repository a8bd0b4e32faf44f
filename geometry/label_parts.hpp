/// \file
/// \brief Connected parts of a label map: islands, holes, what is inside the body.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "geometry/label_grid.hpp"

namespace torsowave::geometry {

/// Parts of one tissue that hang together over pixel edges.
struct TissueParts {
  std::string tissue;
  std::size_t parts = 0;
  std::size_t small = 0;         ///< those of fewer pixels than asked for
  std::size_t small_pixels = 0;  ///< in them
};

/// What a label map falls into.
struct LabelParts {
  std::vector<TissueParts> tissues;  ///< in the order of LabelGrid::tissues
  std::size_t holes = 0;             ///< parts of the background that meet no rim
  std::size_t small_holes = 0;       ///< those of fewer pixels than asked for
};

/// \param small  pixels; parts of fewer are counted as small
[[nodiscard]] LabelParts label_parts(const LabelGrid& grid, const std::string& background,
                                     std::size_t small);

/// Whether a point lies in the body: on a pixel of another tissue than the background, or
/// of background that no way over pixel edges leads out of.
[[nodiscard]] bool in_mapped_body(const LabelGrid& grid, const std::string& background,
                                  Point p);

}  // namespace torsowave::geometry
