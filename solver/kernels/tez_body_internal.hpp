/// \file
/// \brief One TEz time step of a band of rows, in one pass over memory.
///
/// Included once by each instruction set's source file; everything has internal linkage.
///
/// The dual of sweep_body_internal.hpp, with h = Hz mu0 dx/dt:
///   ex[e]' = ... + Cb (h[e] - h[e-1])   along y, with its relaxations; the difference
///            averaged along x where the medium asks for it
///   ey[e]' = ... - Cb (h[e] - h[e-1])   along x
///   h'     = h + (ex[j+1] - ex[j]) - (ey[i+1] - ey[i])
/// Edges that meet a node with a tensor (tez_medium.hpp) are put together afterwards: the
/// node follows four combinations of the D of its edges, each through a scalar Debye
/// medium, and an edge takes half of its field from either end.
///
/// Count for one interior cell and K poles: Hz, Ex, Ey, 2 K q in and out = (24 + 16 K)
/// bytes in single precision, and 4 + 2 (3 + 5 K) additions and multiplications, 8 more
/// where curls are averaged, with 4 more loads of Hz, all from the first-level cache.

#pragma once

#include "solver/kernels/run_body_internal.hpp"
#include "solver/kernels/tez_args.hpp"

namespace torsowave::solver::kernels {
namespace {

/// Difference of Hz across the edges along x.
template <class Real>
struct AcrossRows {
  static constexpr bool averages = true;
  const Real* above;
  const Real* below;
  Pack<Real> before(const Real* ex, std::int32_t i) const { return load(ex + i); }
  Pack<Real> operator()(std::int32_t i) const
  {
    return load(above + i) - load(below + i);
  }
  Pack<Real> averaged(std::int32_t i, Pack<Real> left, Pack<Real> right) const
  {
    const Pack<Real> here = (*this)(i);
    return mul_add(left, beside(i - 1) - here,
                   mul_add(right, beside(i + 1) - here, here));
  }

private:
  Pack<Real> beside(std::int32_t i) const
  {
    return load_anywhere(above + i) - load_anywhere(below + i);
  }
};

/// Difference of Hz across the edges along y, the left one less the right one.
template <class Real>
class AcrossColumns {
public:
  static constexpr bool averages = false;
  explicit AcrossColumns(const Real* hz) : hz_(hz), left_(load(hz - lanes_of<Real>)) {}
  Pack<Real> before(const Real* ey, std::int32_t i) const { return load(ey + i); }
  Pack<Real> operator()(std::int32_t i)
  {
    const Pack<Real> here = load(hz_ + i);
    const Pack<Real> difference = left_of<Real>(left_, here) - here;
    left_ = here;
    return difference;
  }

private:
  const Real* hz_;
  Pack<Real> left_;
};

/// Brings the scalar fields of a row's tensor edges back for their plain update.
template <class Real>
void restore_scalars(const EdgeTerm* edges, const std::int32_t* rows, std::int32_t row,
                     const Real* scalars, Real* field)
{
  for (std::int32_t p = rows[row]; p < rows[row + 1]; ++p) {
    field[edges[p].column] = scalars[p];
  }
}

/// Puts tensor edges together: half from either end. `low_edge`, `high_edge`: which edge
/// of the node at the low and at the high end this is.
template <class Real>
void join_halves(const TensorTerms<Real>& t, const EdgeTerm* edges,
                 const std::int32_t* rows, std::int32_t row, std::int32_t low_edge,
                 std::int32_t high_edge, Real* scalars, Real* field)
{
  const Real half = Real(0.5);
  for (std::int32_t p = rows[row]; p < rows[row + 1]; ++p) {
    const EdgeTerm& edge = edges[p];
    const Real scalar = field[edge.column];
    scalars[p] = scalar;
    const Real low = edge.low < 0 ? scalar : t.result[edge.low * node_edges + low_edge];
    const Real high =
        edge.high < 0 ? scalar : t.result[edge.high * node_edges + high_edge];
    field[edge.column] = half * (low + high);
  }
}

/// Advances the scalar fields of a node by v . curl.
template <class Real, int K>
void advance_lanes(const TezArgs<Real>& a, const NodeTerm<Real>& node,
                   const Real* curl_of, Real* state)
{
  const Real two = 2;
  for (std::int32_t m = 0; m < node_lanes; ++m) {
    const CellCoefficients<Real>& medium = a.palette[node.media[m]];
    const Real* const v = node.vector[m];
    const Real curl =
        (v[0] * curl_of[0] + v[1] * curl_of[1]) + (v[2] * curl_of[2] + v[3] * curl_of[3]);
    const Real before = state[m];
    Real change = medium.curl * curl - medium.loss * before;
    for (int k = 0; k < K; ++k) {
      change += medium.pole[k] * state[(1 + k) * node_lanes + m];
    }
    const Real after = before + change;
    const Real sum = before + after;
    state[m] = after;
    for (int k = 0; k < K; ++k) {
      Real& q = state[(1 + k) * node_lanes + m];
      q += a.pole_gain[k] * (sum - two * q);
    }
  }
}

/// What the node gives to its edges.
template <class Real>
void sum_up(const NodeTerm<Real>& node, const Real* state, Real* result)
{
  for (std::int32_t e = 0; e < node_edges; ++e) {
    result[e] = (node.vector[0][e] * state[0] + node.vector[1][e] * state[1]) +
                (node.vector[2][e] * state[2] + node.vector[3][e] * state[3]);
  }
}

template <class Real, int K>
void update_nodes(const TezArgs<Real>& a, std::int32_t row)
{
  const TensorTerms<Real>& t = a.tensors;
  const Real* const above = a.hz + row * a.stride;
  const Real* const below = above - a.stride;
  for (std::int32_t n = t.node_rows[row]; n < t.node_rows[row + 1]; ++n) {
    const NodeTerm<Real>& node = t.nodes[n];
    const std::int32_t i = node.i;
    const Real curl_of[node_edges] = {above[i - 1] - below[i - 1], above[i] - below[i],
                                      below[i - 1] - below[i], above[i - 1] - above[i]};
    Real* const state = t.state + static_cast<std::ptrdiff_t>(n) * (1 + K) * node_lanes;
    advance_lanes<Real, K>(a, node, curl_of, state);
    sum_up(node, state, t.result + static_cast<std::ptrdiff_t>(n) * node_edges);
  }
}

template <class Real, int K>
void ex_strip(const TezArgs<Real>& a, const RowOf<Real>& row, std::int32_t e)
{
  const bool low = e < a.depth;
  if (!low && e <= a.ny - a.depth) {
    return;
  }
  const std::int32_t d = low ? e : e - (a.ny - a.depth) - 1;
  const auto layer = AbsorberWeights<Real>::at(a.y_edges[low ? 0 : 1], d);
  const std::ptrdiff_t at = (low ? d : a.depth + d) * a.stride;
  const Real* const above = a.hz + e * a.stride;
  const Real* const below = above - a.stride;
  for (std::int32_t i = 0; i < a.nx; i += lanes_of<Real>) {
    const Pack<Real> slope = load(above + i) - load(below + i);
    const Pack<Real> term = layer.term(a.psi_ex + at + i, slope);
    add_change<Real, K>(row, i, load(a.curl_ex + at + i) * term);
  }
}

template <class Real, int K>
void update_ex(const TezArgs<Real>& a, std::int32_t e)
{
  const std::ptrdiff_t offset = e * a.stride;
  const RowOf<Real> row =
      row_of<Real, K>(a.ex, offset, a.pole_gain, a.palette, a.x_media);
  const TensorTerms<Real>& t = a.tensors;
  if (t.node_rows != nullptr) {
    restore_scalars(t.x_edges, t.x_rows, e, t.x_scalar, row.field);
  }
  const Real* const above = a.hz + offset;
  update_row<Real, K>(row, e, AcrossRows<Real>{above, above - a.stride});
  if (a.depth > 0) {
    ex_strip<Real, K>(a, row, e);
  }
  add_to_polar_row<Real, K>(a.to_x_edges, row, e, a.amounts);
  if (t.node_rows != nullptr) {
    update_nodes<Real, K>(a, e);
    join_halves(t, t.x_edges, t.x_rows, e, 1, 0, t.x_scalar, row.field);
  }
}

template <class Real, int K>
void ey_strips(const TezArgs<Real>& a, const RowOf<Real>& row, std::int32_t j)
{
  const Real* const hz = a.hz + j * a.stride;
  for (int side = 0; side < 2; ++side) {
    const std::int32_t first = side == 0 ? 0 : a.nx - a.depth + 1;
    const std::ptrdiff_t at = (static_cast<std::ptrdiff_t>(j) * 2 + side) * a.width;
    for (std::int32_t d = 0; d < a.width; d += lanes_of<Real>) {
      const Real* const right = hz + first + d;
      const Pack<Real> slope = load_anywhere(right) - load_anywhere(right - 1);
      const Pack<Real> term = AbsorberWeights<Real>::across(a.x_edges[side], d)
                                  .term(a.psi_ey + at + d, slope);
      add_change<Real, K>(row, first + d, -(load(a.curl_ey + at + d) * term));
    }
  }
}

/// The nodes on both ends of the row's y edges must have been updated.
template <class Real, int K>
void update_ey(const TezArgs<Real>& a, std::int32_t j)
{
  const std::ptrdiff_t offset = j * a.stride;
  const RowOf<Real> row =
      row_of<Real, K>(a.ey, offset, a.pole_gain, a.palette, a.y_media);
  const TensorTerms<Real>& t = a.tensors;
  if (t.node_rows != nullptr) {
    restore_scalars(t.y_edges, t.y_rows, j, t.y_scalar, row.field);
  }
  const Real* const hz = a.hz + offset;
  update_row<Real, K>(row, j, AcrossColumns<Real>(hz));
  if (a.depth > 0) {
    ey_strips<Real, K>(a, row, j);
  }
  add_to_polar_row<Real, K>(a.to_y_edges, row, j, a.amounts);
  if (t.node_rows != nullptr) {
    join_halves(t, t.y_edges, t.y_rows, j, 3, 2, t.y_scalar, row.field);
  }
}

template <class Real>
void hz_strips_along_x(const TezArgs<Real>& a, std::int32_t j, Real* hz, const Real* ey)
{
  for (int side = 0; side < 2; ++side) {
    const std::int32_t first = side == 0 ? 0 : a.nx - a.depth;
    Real* const psi = a.psi_hx + (static_cast<std::ptrdiff_t>(j) * 2 + side) * a.width;
    for (std::int32_t d = 0; d < a.width; d += lanes_of<Real>) {
      const Real* const left = ey + first + d;
      const Pack<Real> slope = load_anywhere(left + 1) - load_anywhere(left);
      Real* const at = hz + first + d;
      store_anywhere(
          at, load_anywhere(at) -
                  AbsorberWeights<Real>::across(a.x_cells[side], d).term(psi + d, slope));
    }
  }
}

template <class Real>
void hz_strip_along_y(const TezArgs<Real>& a, std::int32_t j, Real* hz, const Real* ex)
{
  const bool low = j < a.depth;
  if (!low && j < a.ny - a.depth) {
    return;
  }
  const std::int32_t d = low ? j : j - (a.ny - a.depth);
  const auto layer = AbsorberWeights<Real>::at(a.y_cells[low ? 0 : 1], d);
  Real* const psi = a.psi_hy + (low ? d : a.depth + d) * a.stride;
  for (std::int32_t i = 0; i < a.nx; i += lanes_of<Real>) {
    const Pack<Real> slope = load(ex + a.stride + i) - load(ex + i);
    store(hz + i, load(hz + i) + layer.term(psi + i, slope));
  }
}

template <class Real>
void update_hz(const TezArgs<Real>& a, std::int32_t j)
{
  Real* const hz = a.hz + j * a.stride;
  const Real* const ex = a.ex.field + j * a.stride;
  const Real* const ex_up = ex + a.stride;
  const Real* const ey = a.ey.field + j * a.stride;
  std::int32_t i = 0;
  for (; i + lanes_of<Real> <= a.nx; i += lanes_of<Real>) {
    store(hz + i, load(hz + i) + ((load(ex_up + i) - load(ex + i)) -
                                  (load_anywhere(ey + i + 1) - load(ey + i))));
  }
  // Not a whole pack: Hz beyond the last column stays 0, whatever Ey on the rim is.
  for (; i < a.nx; ++i) {
    hz[i] += (ex_up[i] - ex[i]) - (ey[i + 1] - ey[i]);
  }
  if (a.depth > 0) {
    hz_strips_along_x(a, j, hz, ey);
    hz_strip_along_y(a, j, hz, ex);
  }
  add_to_row(a.to_centres, j, a.amounts, hz);
}

template <class Real, int K>
void tez_row(const TezArgs<Real>& a, std::int32_t j, bool above)
{
  if (above) {
    update_ex<Real, K>(a, j + 1);
  }
  update_ey<Real, K>(a, j);
  update_hz(a, j);
}

template <class Real>
TezKernel<Real> tez_kernel_for(int poles)
{
  switch (poles) {
    case 0:
      return {update_ex<Real, 0>, tez_row<Real, 0>};
    case 1:
      return {update_ex<Real, 1>, tez_row<Real, 1>};
    case 2:
      return {update_ex<Real, 2>, tez_row<Real, 2>};
    case 3:
      return {update_ex<Real, 3>, tez_row<Real, 3>};
    default:
      return {update_ex<Real, 4>, tez_row<Real, 4>};
  }
}

}  // namespace
}  // namespace torsowave::solver::kernels
