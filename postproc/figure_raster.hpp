/// \file
/// \brief From cells to pixels: coloured cells and the outlines between tissues.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "postproc/canvas.hpp"

namespace torsowave::postproc {

/// Colours over a slice, each for a square of `stride` cells about the sampled cell's
/// centre.
struct CellColors {
  int nx = 0;      ///< cells of the slice
  int ny = 0;      ///< cells of the slice
  int stride = 1;  ///< the cells sampled are 0, stride, 2 stride ... in x and in y
  std::vector<Color> colors;  ///< (ny_kept, nx_kept), x fastest, row 0 lowest
};

/// Samples along one axis of `cells` cells: ceil(cells / stride).
[[nodiscard]] int kept(int cells, int stride) noexcept;

/// Draws the cells into a box of the page, which is rounded to whole pixels, lowest row
/// at the bottom. A pixel shows the mean of what lies under it, weighted by area: any
/// scale, up or down.
void paint_cells(Canvas& canvas, const Box& box, const CellColors& cells);

/// Lines where neighbouring cells differ in label, drawn as in paint_cells(): along the
/// cells' sides, with corners cut by up to half a cell, so that small steps become
/// slopes. \param labels     (ny, nx), x fastest, row 0 lowest \param thickness  [px]
void add_outlines(Coverage& coverage, const Box& box, int nx, int ny,
                  std::span<const std::uint16_t> labels, double thickness);

}  // namespace torsowave::postproc
