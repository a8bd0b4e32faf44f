/// \file
/// \brief A slice given as pixels, each of one tissue.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "geometry/points.hpp"

namespace torsowave::geometry {

/// What a cell takes of the pixels that it covers.
enum class Resampling {
  fractions,  ///< each tissue by its exact share of the cell's area
  nearest     ///< the tissue at the cell's centre
};

/// Pixels of one size, row 0 at the lowest y, column 0 at the lowest x. Beyond them lies
/// the background.
struct LabelGrid {
  int nx = 0;
  int ny = 0;
  double pixel_x = 0.0;               ///< width of a pixel [m], > 0
  double pixel_y = 0.0;               ///< height of a pixel [m], > 0
  Point corner;                       ///< lower left corner of pixel (0, 0) [m]
  std::vector<std::string> tissues;   ///< that pixels have, different ones
  std::vector<std::uint16_t> pixels;  ///< (ny, nx) index into `tissues`; x runs fastest
  Rectangle body;  ///< smallest rectangle that holds what is not background [m]
  Resampling resampling = Resampling::fractions;

  [[nodiscard]] std::size_t at(int i, int j) const noexcept
  {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx) +
           static_cast<std::size_t>(i);
  }
};

/// Number of the pixel that holds a point, -1 beyond the grid. A point on an edge, to a
/// millionth of a pixel, belongs to the pixel of larger x, or y.
[[nodiscard]] std::ptrdiff_t pixel_at(const LabelGrid& grid, Point p) noexcept;

/// \throws std::invalid_argument  No pixels, or more than 32768 in a row; sizes, corner
/// or
///         body that are not finite or not > 0; pixels of tissues that are not listed.
void require_sound(const LabelGrid& grid);

}  // namespace torsowave::geometry
