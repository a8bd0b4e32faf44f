/// \file
/// \brief What a TEz row sweep needs, as plain data; see sweep_args.hpp.

#pragma once

#include <cstddef>
#include <cstdint>

#include "solver/kernels/sweep_args.hpp"

namespace torsowave::solver::kernels {

/// Four edges meet in a node: left, right, lower, upper; four scalar fields are followed
/// there (tez_medium.hpp).
inline constexpr int node_edges = 4;
inline constexpr int node_lanes = 4;

/// A node with a tensor.
template <class Real>
struct NodeTerm {
  std::int32_t i;                       ///< column
  std::int32_t media[node_lanes];       ///< palette indices
  Real vector[node_lanes][node_edges];  ///< v_m
};

/// An edge with a tensor at one or both ends.
struct EdgeTerm {
  std::int32_t column;
  std::int32_t low;   ///< node, or -1: half of the edge's own scalar field
  std::int32_t high;  ///< node, or -1
};

/// The tensors of a grid; nodes and edges sorted by row.
template <class Real>
struct TensorTerms {
  const NodeTerm<Real>* nodes;
  const std::int32_t* node_rows;  ///< (ny + 2), or null: there are none
  Real*
      state;  ///< (nodes, 1 + K, node_lanes): fields, then what each relaxation followed
  Real* result;  ///< (nodes, node_edges) E that the node gives to each edge
  const EdgeTerm* x_edges;
  const std::int32_t* x_rows;  ///< (ny + 2)
  Real* x_scalar;              ///< (x edges) the field of the edge's own medium
  const EdgeTerm* y_edges;
  const std::int32_t* y_rows;  ///< (ny + 1)
  Real* y_scalar;
};

/// Everything of one TEz grid. Row pointers: field + j * stride points at column 0 of
/// row j; rows -1 and ny and columns -1 and nx of Hz hold 0.
template <class Real>
struct TezArgs {
  std::int32_t nx;
  std::int32_t ny;
  std::ptrdiff_t stride;
  Real* hz;             ///< (ny, nx)
  PolarField<Real> ex;  ///< (ny + 1) rows: edge e lies below row e
  PolarField<Real> ey;  ///< (nx + 1) columns: edge e lies left of column e
  Real pole_gain[max_poles];

  const CellCoefficients<Real>* palette;
  MediumRows<Real> x_media;
  MediumRows<Real> y_media;
  TensorTerms<Real> tensors;

  // Absorber strips, `depth` cells thick. Low sides first, then high sides.
  std::int32_t depth;
  std::int32_t width;  ///< depth, up to whole packs: coefficients are 0 there
  AbsorberSide<Real> x_edges[2];
  AbsorberSide<Real> x_cells[2];
  AbsorberSide<Real> y_edges[2];
  AbsorberSide<Real> y_cells[2];
  Real* psi_ey;         ///< (ny, 2 width)
  Real* psi_hx;         ///< (ny, 2 width) of Hz, along x
  Real* psi_ex;         ///< (2 depth, stride)
  Real* psi_hy;         ///< (2 depth, stride) of Hz, along y
  const Real* curl_ey;  ///< (ny, 2 width) Cb of the y edges in the strips
  const Real* curl_ex;  ///< (2 depth, stride)

  AddedRows to_centres;
  AddedRows to_x_edges;
  AddedRows to_y_edges;
  const Real* amounts;  ///< of this step
};

/// One instruction set's kernels for K poles.
template <class Real>
struct TezKernel {
  /// Updates Ex on edge `e` (rows e - 1 and e of Hz must be those of the last step), with
  /// the nodes on it.
  void (*edge)(const TezArgs<Real>&, std::int32_t e);
  /// Updates Ex on edge j + 1 if `above`, then Ey and Hz of row j. Ex on edge j is done,
  /// and on edge j + 1 if not `above`.
  void (*row)(const TezArgs<Real>&, std::int32_t j, bool above);
};

[[nodiscard]] TezKernel<float> baseline_tez_kernel_float(int poles);
[[nodiscard]] TezKernel<double> baseline_tez_kernel_double(int poles);
[[nodiscard]] TezKernel<float> avx2_tez_kernel_float(int poles);
[[nodiscard]] TezKernel<double> avx2_tez_kernel_double(int poles);
[[nodiscard]] TezKernel<float> avx512_tez_kernel_float(int poles);
[[nodiscard]] TezKernel<double> avx512_tez_kernel_double(int poles);

}  // namespace torsowave::solver::kernels
