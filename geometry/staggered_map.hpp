/// \file
/// \brief A slice as a grid of edges and nodes: what the in-plane field components meet.

#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "geometry/tissue_map.hpp"

namespace torsowave::geometry {

/// Marks a node whose surrounding square holds more than one tissue.
inline constexpr std::uint16_t mixed_node = std::numeric_limits<std::uint16_t>::max();

/// Area shares at nodes are counted in units of 1/node_quantum of a cell's area.
inline constexpr int node_quantum = 4 * fraction_quantum;

/// What surrounds a node that an interface passes.
struct MixedNode {
  int i = 0;        ///< column of the node, 0 .. nx: it lies left of cell i
  int j = 0;        ///< row of the node, 0 .. ny: it lies below cell j
  Mixture mixture;  ///< of the cell-sized square around it; quanta sum to node_quantum
  Point normal;     ///< unit vector across the interface; its sign is of no importance
  /// Mean contrast along the left, right, lower and upper side of the square, over that
  /// of the square [1].
  std::array<double, 4> sides{1.0, 1.0, 1.0, 1.0};
};

/// Tissues at the places where the in-plane components of a Yee grid lie.
struct StaggeredMap {
  Raster raster;                       ///< of the cells
  std::vector<std::string> tissues;    ///< tissues[0] is the background
  std::vector<std::uint16_t> x_edges;  ///< (ny + 1, nx) tissue at each edge's midpoint
  std::vector<std::uint16_t> y_edges;  ///< (ny, nx + 1)
  /// (ny + 1, nx + 1) tissue of the square around each node, or mixed_node; empty without
  /// averaging.
  std::vector<std::uint16_t> nodes;
  std::vector<MixedNode> mixed;  ///< row by row

  [[nodiscard]] std::size_t x_edge_at(int i, int e) const noexcept
  {
    return static_cast<std::size_t>(e) * static_cast<std::size_t>(raster.nx) +
           static_cast<std::size_t>(i);
  }
  [[nodiscard]] std::size_t y_edge_at(int e, int j) const noexcept
  {
    return static_cast<std::size_t>(j) * (static_cast<std::size_t>(raster.nx) + 1) +
           static_cast<std::size_t>(e);
  }
  [[nodiscard]] std::size_t node_at(int i, int j) const noexcept
  {
    return y_edge_at(i, j);
  }
};

/// Cuts a slice for the in-plane components.
///
/// Areas come from cells of half the size, exactly as voxelise() cuts them. The normal is
/// the direction of the first moment of `contrast` in a round window of 1.5 cells about
/// the node: exact for a straight interface as far as the window is round, and for a thin
/// layer the direction across it.
/// \param contrast  one number for each tissue, in the order background, shapes, capsules
///                  as voxelise() numbers them, e.g. its permittivity: what makes an
///                  interface strong
/// \throws std::invalid_argument  as voxelise(); or too few contrasts.
[[nodiscard]] StaggeredMap cut_staggered(const Raster& raster,
                                         const std::string& background,
                                         const std::vector<Shape>& shapes,
                                         const std::vector<Shape>& capsules,
                                         Averaging averaging,
                                         const std::vector<double>& contrast);

}  // namespace torsowave::geometry
