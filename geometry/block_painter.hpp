/// \file
/// \brief Cuts a stack of coats into cells by halving blocks until each is simple.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "geometry/convex_polygon.hpp"
#include "geometry/paint_stack.hpp"
#include "geometry/palette.hpp"
#include "geometry/pixel_cutter.hpp"
#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

/// Paints bands of cells, one thread's worth of work space.
///
/// A block is a square of cells, or a square part of one. A block whose
/// circumscribed disc no outline enters is of one tissue, and all of its cells are done
/// at once. Others are halved. Inside a cell the halving ends where every outline left is
/// a straight line to within `straightness` cells: the lines cut the block into convex
/// pieces, whose areas are exact. Bounds are conservative, so that no layer is too thin
/// to be found. What is still not straight at 1/64 of a cell (a corner, a cusp) is taken
/// at the block's centre. Where no coat is over a label map, the map's pixels are cut.
class BlockPainter {
public:
  static constexpr int band_height = 16;  ///< cells

  BlockPainter(const PaintStack& stack, const Raster& raster, Averaging averaging);

  /// Sets labels and pure cells of rows [band * band_height, ...) in `map`, and appends
  /// the cells that outlines cut. The result depends on nothing but the stack and the
  /// raster.
  void paint(int band, TissueMap& map, std::vector<CutCell>& cut_cells);

private:
  /// Lower left corner and edge in units of 1/64 cell.
  struct Block {
    int i = 0;
    int j = 0;
    int size = 0;
  };
  /// A run of coat indices on cut_.
  struct Range {
    std::size_t first = 0;
    std::size_t last = 0;
    [[nodiscard]] bool empty() const noexcept { return first == last; }
  };

  void visit(const Block& block, Range cut);
  void halve(const Block& block, Range cut);
  void fill_cells(const Block& block);
  void fill_from_pixels(int i, int j);
  [[nodiscard]] std::uint16_t showing(Point center) const noexcept;
  void visit_cell(const Block& block, Range cut);
  void visit_part(const Block& block, Range cut);
  [[nodiscard]] Range narrow(const Block& block, Range cut);
  [[nodiscard]] Side classify(std::size_t coat, Point center, double radius) const;
  [[nodiscard]] bool any_region_below(std::size_t coat, bool count_cut) const noexcept;
  [[nodiscard]] bool straighten(const Block& block, Range cut);
  [[nodiscard]] std::optional<HalfPlane> line_of(std::size_t coat, Point center,
                                                 double edge) const;
  void split(const Block& block, const ConvexPolygon& piece, Range lines);
  [[nodiscard]] Nearest nearest(std::size_t coat, Point p, double limit) const;
  [[nodiscard]] Point center_of(const Block& block) const noexcept;
  [[nodiscard]] double radius_of(const Block& block) const noexcept;

  const PaintStack& stack_;
  Raster raster_;
  Averaging averaging_;
  TissueMap* map_ = nullptr;
  std::vector<CutCell>* cut_cells_ = nullptr;

  std::vector<Side> sides_;             ///< of each coat in the current block
  std::vector<std::size_t> cut_;        ///< stack of coats still cut, level by level
  std::vector<HalfPlane> lines_;        ///< by coat, in block edges
  std::vector<std::uint64_t> weights_;  ///< by tissue, of the current cell
  std::vector<std::vector<Segment>> nearby_;  ///< by coat: outline near the current cell
  bool in_cell_ = false;
  std::optional<PixelCutter> pixels_;  ///< of the stack's label map
};

}  // namespace torsowave::geometry
