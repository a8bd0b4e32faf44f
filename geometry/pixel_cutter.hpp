/// \file
/// \brief How much of each tissue of a label map lies in a part of a cell.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "geometry/convex_polygon.hpp"
#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

/// Areas are sums over the pixels that overlap a box. Edges of pixels are rounded to
/// 1/65536 of a cell once; from there on all is exact in integers, so that pixels and
/// cells that share an edge do share it.
///
/// Reads a LabelGrid and its tissue indices, which must outlive it.
class PixelCutter {
public:
  static constexpr int per_cell = 65536;  ///< units along a cell's edge

  /// A square part of a cell, in units from the raster's corner.
  struct Box {
    std::int64_t x0 = 0;
    std::int64_t x1 = 0;
    std::int64_t y0 = 0;
    std::int64_t y1 = 0;
  };

  /// \param tissues  index of each of the grid's tissues
  PixelCutter(const LabelGrid& grid, std::span<const std::uint16_t> tissues,
              const Raster& raster);

  /// \param i,j,size  lower left corner and edge in 1/64 of a cell
  [[nodiscard]] Box box(int i, int j, int size) const noexcept;

  /// The tissue of all of a box, if there is but one.
  [[nodiscard]] std::optional<std::uint16_t> only_tissue(const Box& box) const;

  /// Adds the area of each tissue in the box, in units squared, to `weights`; with
  /// Resampling::nearest all of it to the tissue at the cell's centre.
  void add(const Box& box, std::span<std::uint64_t> weights) const;

  /// The same for a part of the box. \param piece  the box being the unit square about
  /// the origin
  void add(const Box& box, const ConvexPolygon& piece,
           std::span<std::uint64_t> weights) const;

private:
  /// A run of pixels along one axis; -1 and the grid's size stand for what is beyond it.
  struct Run {
    int first = 0;
    int last = 0;
  };
  [[nodiscard]] static Run run_of(const std::vector<std::int64_t>& edges,
                                  std::int64_t from, std::int64_t to);
  [[nodiscard]] std::uint16_t tissue(int i, int j) const;
  [[nodiscard]] std::uint16_t tissue_of_cell(const Box& box) const;
  template <class Add>
  void visit(const Box& box, const Add& add) const;

  const LabelGrid& grid_;
  std::span<const std::uint16_t> tissues_;
  std::vector<std::int64_t> x_edges_;  ///< (nx + 1) [units]
  std::vector<std::int64_t> y_edges_;  ///< (ny + 1)
};

}  // namespace torsowave::geometry
