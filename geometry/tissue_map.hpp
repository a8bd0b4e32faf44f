/// \file
/// \brief A slice as cells: which tissue, or which mixture of tissues, each cell holds.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "geometry/shape.hpp"

namespace torsowave::geometry {

/// Square cells covering the slice. Cell (i, j) has its centre at (x(i), y(j)).
struct Raster {
  int nx = 0;
  int ny = 0;
  double cell = 0.0;  ///< edge of a cell [m]
  Point corner;       ///< lower left corner of cell (0, 0) [m]

  [[nodiscard]] double x(int i) const noexcept { return x_of(i + 0.5); }
  [[nodiscard]] double y(int j) const noexcept { return y_of(j + 0.5); }
  /// Position of a fractional column or row, counted in cells from the corner. Measured
  /// from the raster's middle, so that a raster centred on 0 is mirror-symmetric to the
  /// last bit.
  [[nodiscard]] double x_of(double column) const noexcept
  {
    return (corner.x + 0.5 * nx * cell) + (column - 0.5 * nx) * cell;
  }
  [[nodiscard]] double y_of(double row) const noexcept
  {
    return (corner.y + 0.5 * ny * cell) + (row - 0.5 * ny) * cell;
  }
  [[nodiscard]] std::size_t size() const noexcept
  {
    return static_cast<std::size_t>(nx) * static_cast<std::size_t>(ny);
  }
  /// Index of cell (i, j) in row-major arrays; x runs fastest.
  [[nodiscard]] std::size_t at(int i, int j) const noexcept
  {
    return static_cast<std::size_t>(j) * static_cast<std::size_t>(nx) +
           static_cast<std::size_t>(i);
  }
};

/// How the area of a cell cut by an outline is treated.
enum class Averaging {
  none,   ///< the tissue at the cell's centre (staircase)
  volume  ///< area fractions
};

/// Area fractions are multiples of 1/fraction_quantum, so that the palette stays small.
inline constexpr int fraction_quantum = 256;

/// A share of a cell.
struct Share {
  std::uint16_t tissue = 0;  ///< index into TissueMap::tissues
  std::uint16_t quanta = 0;  ///< area in units of 1/fraction_quantum, > 0
  bool operator==(const Share&) const = default;
};

/// What a cell can hold: shares in ascending order of tissue, quanta summing to
/// fraction_quantum. A pure tissue has one share.
using Mixture = std::vector<Share>;

/// Labels and sub-cell fractions of a slice.
struct TissueMap {
  Raster raster;
  std::vector<std::string> tissues;  ///< tissues[0] is the background
  std::vector<Mixture> palette;      ///< the first entries are the pure tissues, in order
  std::vector<std::uint16_t> cells;  ///< palette index of each cell (ny, nx)
  std::vector<std::uint16_t> labels;  ///< tissue at each cell's centre (ny, nx)
  /// Quanta that shares are multiples of: 1, or more where the mixtures of a label map
  /// would not fit the palette.
  int share_step = 1;
};

/// Paints `shapes` in order over `background` and cuts the result into cells.
///
/// \param capsules  painted last (implant capsules); they do not belong to the outline
/// that
///                  a Shell follows.
/// \throws std::invalid_argument  A Shell comes first or is a capsule, a shape is
/// degenerate or
///         not finite, a label map is not the first or has a shell after it, the raster
///         has no cells, or the palette would exceed 65535.
[[nodiscard]] TissueMap voxelise(const Raster& raster, const std::string& background,
                                 const std::vector<Shape>& shapes,
                                 const std::vector<Shape>& capsules, Averaging averaging);

/// Area of each tissue of the map [m^2], from the fractions (order of
/// TissueMap::tissues).
[[nodiscard]] std::vector<double> areas_by_tissue(const TissueMap& map);

/// Label of the tissue at one point of the slice; the same rules and errors as
/// voxelise(). For many points make one PaintStack and ask it.
[[nodiscard]] std::string tissue_at(Point point, const std::string& background,
                                    const std::vector<Shape>& shapes);

/// Names of the tissues that a shape paints with.
[[nodiscard]] std::vector<std::string> tissues_in(const Shape& shape);

/// Smallest rectangle that holds all shapes [m], of a label map what is not background;
/// ignores shells.
/// \throws std::invalid_argument  There is no shape but shells, or one is degenerate.
[[nodiscard]] Rectangle bounding_box(const std::vector<Shape>& shapes);

}  // namespace torsowave::geometry
