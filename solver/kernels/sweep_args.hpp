/// \file
/// \brief What a row sweep needs, as plain data: no library type may reach a kernel.
///
/// The kernels are compiled once for each instruction set. A library template
/// instantiated in one of those files could replace its baseline twin at link time and
/// crash on an older processor, so they see raw pointers and plain structs alone.

#pragma once

#include <cstddef>
#include <cstdint>

namespace torsowave::solver::kernels {

inline constexpr int max_poles = 4;

/// Update coefficients of one medium (fields scaled as in sweep_body_internal.hpp).
template <class Real>
struct CellCoefficients {
  Real curl;             ///< Cb: weight of the curl of H
  Real loss;             ///< 1 - Ca
  Real pole[max_poles];  ///< Cq_k: weight of Q_k
};

enum class RunKind : std::int32_t {
  plain,    ///< one medium without poles: Q is neither read nor written
  uniform,  ///< one medium with poles
  mixed     ///< short stretches: coefficients cell by cell
};

/// A stretch of a row, columns [begin, end).
struct Run {
  std::int32_t begin;
  std::int32_t end;
  RunKind kind;
  std::int32_t
      at;  ///< palette index, or where the stretch starts in the mixed coefficients
  std::int32_t averaged;  ///< 1: curls are averaged along the row (TEz, Ex alone); a run
                          ///< of one medium with both neighbours of each sample
};

/// The media of a field's rows: `palette` is shared, the rest belongs to the field.
template <class Real>
struct MediumRows {
  const Run* runs;
  const std::int32_t* row_runs;  ///< (rows + 1) first run of each row
  const Real* mixed_curl;
  const Real* mixed_loss;
  const Real* mixed_pole[max_poles];
  const Real* mixed_left;  ///< weight of the left neighbour's curl in averaged runs
  const Real* mixed_right;
  Real averaged_part;  ///< the same in runs of one medium
};

/// A field with relaxations: row pointers, row j at `field` + j * stride.
template <class Real>
struct PolarField {
  Real* field;
  Real* q[max_poles];
};

/// Recursive convolution at the `depth` positions of one side of the absorber.
template <class Real>
struct AbsorberSide {
  const Real* b;
  const Real* c;
  const Real* extra;  ///< 1/kappa - 1
};

/// Amounts added to a stretch of one row at each step.
struct AddedSpan {
  std::int32_t begin;  ///< first column
  std::int32_t count;
  std::int32_t at;  ///< of its first amount in SweepArgs::amounts
};

/// The spans of one field by row: those of row r are rows[r] <= s < rows[r + 1]. No rows
/// at all if there are no spans.
struct AddedRows {
  const AddedSpan* spans;
  const std::int32_t* rows;
};

/// Everything of one TMz grid. A grid of one row is one-dimensional: nothing varies along
/// y, and Hx stays 0. Row pointers: field + j * stride points at column 0 of row j;
/// the columns -1 and nx of Ez hold 0.
template <class Real>
struct SweepArgs {
  std::int32_t nx;
  std::int32_t ny;
  std::ptrdiff_t stride;
  PolarField<Real> ez;
  Real* hx;                   ///< (ny + 1) rows: edge e lies below row e
  Real* hy;                   ///< (nx + 1) columns: edge e lies left of column e
  Real pole_gain[max_poles];  ///< b_k = dt/(2 tau_k + dt)

  const CellCoefficients<Real>* palette;
  MediumRows<Real> media;

  // Absorber strips, `depth` cells thick. Low sides first, then high sides.
  std::int32_t depth;
  std::int32_t width;  ///< depth, up to whole packs: coefficients are 0 there
  AbsorberSide<Real> x_edges[2];
  AbsorberSide<Real> x_cells[2];
  AbsorberSide<Real> y_edges[2];
  AbsorberSide<Real> y_cells[2];
  Real* psi_hy;        ///< (ny, 2 width)
  Real* psi_ex;        ///< (ny, 2 width)
  Real* psi_hx;        ///< (2 depth, stride)
  Real* psi_ey;        ///< (2 depth, stride)
  const Real* curl_x;  ///< (ny, 2 width) Cb of the cells in the strips along the sides
  const Real* curl_y;  ///< (2 depth, stride)
  bool poles_in_absorber;

  AddedRows to_centres;
  AddedRows to_x_edges;
  AddedRows to_y_edges;
  const Real* amounts;  ///< of this step
};

/// One instruction set's kernels for K poles.
template <class Real>
struct SweepKernel {
  /// Updates Hx on edge `e` (rows e - 1 and e of Ez must be those of the last step).
  void (*edge)(const SweepArgs<Real>&, std::int32_t e);
  /// Updates Hx on edge j + 1 if `above`, then Hy and Ez of row j. Hx on edge j is done,
  /// and on edge j + 1 if not `above`.
  void (*row)(const SweepArgs<Real>&, std::int32_t j, bool above);
};

[[nodiscard]] SweepKernel<float> baseline_kernel_float(int poles);
[[nodiscard]] SweepKernel<double> baseline_kernel_double(int poles);
[[nodiscard]] SweepKernel<float> avx2_kernel_float(int poles);
[[nodiscard]] SweepKernel<double> avx2_kernel_double(int poles);
[[nodiscard]] SweepKernel<float> avx512_kernel_float(int poles);
[[nodiscard]] SweepKernel<double> avx512_kernel_double(int poles);

}  // namespace torsowave::solver::kernels
