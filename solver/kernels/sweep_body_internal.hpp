/// \file
/// \brief One time step of a band of rows, in one pass over memory.
///
/// Included once by each instruction set's source file; everything has internal linkage.
///
/// Equations (Yee 1966; bilinear Debye update derived in docs/numerics.md), with
/// h = H mu0 dx/dt, so that the update of H needs no multiplication:
///   hx[e]' = hx[e] - (ez[e] - ez[e-1])          along y
///   hy[e]' = hy[e] + (ez[e] - ez[e-1])          along x
///   ez'    = ez + Cb ((hy[i+1] - hy[i]) - (hx[j+1] - hx[j])) - (1 - Ca) ez
///            + sum_k Cq_k q_k
/// and q_k as in run_body_internal.hpp. In the absorber a derivative d becomes d +
/// (1/kappa - 1) d
/// + psi; the second and third term are added after the plain update, to Q as well, which
/// is linear.
///
/// Count for one interior cell and K poles: Ez, hx, hy, q_k in and out = (24 + 8 K) bytes
/// in single precision, and 2 + 2 + 4 + (1 + 4) K = 8 + 5 K additions and multiplications
/// or less with fused ones. Coefficients are broadcast along runs of one medium.

#pragma once

#include "solver/kernels/run_body_internal.hpp"
#include "solver/kernels/sweep_args.hpp"

namespace torsowave::solver::kernels {
namespace {

template <class Real>
void hx_strip(const SweepArgs<Real>& a, std::int32_t e, const Real* above,
              const Real* below, Real* hx)
{
  const bool low = e < a.depth;
  if (!low && e <= a.ny - a.depth) {
    return;
  }
  const std::int32_t d = low ? e : e - (a.ny - a.depth) - 1;
  const auto layer = AbsorberWeights<Real>::at(a.y_edges[low ? 0 : 1], d);
  Real* const psi = a.psi_hx + (low ? d : a.depth + d) * a.stride;
  for (std::int32_t i = 0; i < a.nx; i += lanes_of<Real>) {
    const Pack<Real> slope = load(above + i) - load(below + i);
    store(hx + i, load(hx + i) - layer.term(psi + i, slope));
  }
}

/// What the absorber and sources add to Hx on edge `e`. It comes before the plain update,
/// which the row below may do on its way.
template <class Real>
void add_to_hx(const SweepArgs<Real>& a, std::int32_t e)
{
  const Real* const above = a.ez.field + e * a.stride;
  Real* const hx = a.hx + e * a.stride;
  hx_strip(a, e, above, above - a.stride, hx);
  add_to_row(a.to_x_edges, e, a.amounts, hx);
}

/// Rows -1 and ny of Ez are rows of zeros in the array's padding.
template <class Real>
void update_hx(const SweepArgs<Real>& a, std::int32_t e)
{
  if (a.ny == 1) {
    return;
  }
  add_to_hx(a, e);
  const Real* const above = a.ez.field + e * a.stride;
  const Real* const below = above - a.stride;
  Real* const hx = a.hx + e * a.stride;
  for (std::int32_t i = 0; i < a.nx; i += lanes_of<Real>) {
    store(hx + i, load(hx + i) - (load(above + i) - load(below + i)));
  }
}

template <class Real>
void hy_strip(const SweepArgs<Real>& a, std::int32_t side, const Real* ez, Real* hy,
              Real* psi)
{
  const std::int32_t first = side == 0 ? 0 : a.nx - a.depth + 1;
  for (std::int32_t d = 0; d < a.width; d += lanes_of<Real>) {
    const Real* const right = ez + first + d;
    const Pack<Real> slope = load_anywhere(right) - load_anywhere(right - 1);
    Real* const at = hy + first + d;
    store_anywhere(
        at, load_anywhere(at) +
                AbsorberWeights<Real>::across(a.x_edges[side], d).term(psi + d, slope));
  }
}

/// What the absorber and sources add to Hy of row `j`, before its plain update.
template <class Real>
void add_to_hy(const SweepArgs<Real>& a, std::int32_t j)
{
  Real* const hy = a.hy + j * a.stride;
  if (a.depth > 0) {
    const Real* const ez = a.ez.field + j * a.stride;
    Real* psi = a.psi_hy + static_cast<std::ptrdiff_t>(j) * 2 * a.width;
    hy_strip(a, 0, ez, hy, psi);
    hy_strip(a, 1, ez, hy, psi + a.width);
  }
  add_to_row(a.to_y_edges, j, a.amounts, hy);
}

template <class Real, int K>
void e_strip_along_x(const SweepArgs<Real>& a, const RowOf<Real>& row, std::int32_t j)
{
  for (int side = 0; side < 2; ++side) {
    const std::int32_t first = side == 0 ? 0 : a.nx - a.depth;
    const std::ptrdiff_t at = (static_cast<std::ptrdiff_t>(j) * 2 + side) * a.width;
    const Real* const hy = a.hy + j * a.stride + first;
    for (std::int32_t d = 0; d < a.width; d += lanes_of<Real>) {
      const Pack<Real> slope = load_anywhere(hy + d + 1) - load_anywhere(hy + d);
      const Pack<Real> term = AbsorberWeights<Real>::across(a.x_cells[side], d)
                                  .term(a.psi_ex + at + d, slope);
      add_change<Real, K>(row, first + d, load(a.curl_x + at + d) * term);
    }
  }
}

template <class Real, int K>
void e_strip_along_y(const SweepArgs<Real>& a, const RowOf<Real>& row, std::int32_t j)
{
  const bool low = j < a.depth;
  if (a.ny == 1 || (!low && j < a.ny - a.depth)) {
    return;
  }
  const std::int32_t d = low ? j : j - (a.ny - a.depth);
  const auto layer = AbsorberWeights<Real>::at(a.y_cells[low ? 0 : 1], d);
  const std::ptrdiff_t at = (low ? d : a.depth + d) * a.stride;
  const Real* const hx = a.hx + j * a.stride;
  for (std::int32_t i = 0; i < a.nx; i += lanes_of<Real>) {
    const Pack<Real> slope = load(hx + a.stride + i) - load(hx + i);
    const Pack<Real> term = layer.term(a.psi_ey + at + i, slope);
    add_change<Real, K>(row, i, -(load(a.curl_y + at + i) * term));
  }
}

/// Both strips; air has no poles to follow.
template <class Real, int K>
void e_strips(const SweepArgs<Real>& a, const RowOf<Real>& row, std::int32_t j)
{
  e_strip_along_x<Real, K>(a, row, j);
  e_strip_along_y<Real, K>(a, row, j);
}

/// Curl of H at the centres of a row, which updates Hy on the way, and Hx on the edges
/// above if `Above`: the row passes through the first-level cache once. Hy is a pack
/// ahead, since the curl needs the edge to the right; rows are padded for that.
template <class Real, bool Above>
class CurlOfRow {
public:
  static constexpr bool averages = false;
  CurlOfRow(const SweepArgs<Real>& a, std::int32_t j)
      : ez_(a.ez.field + j * a.stride),
        ez_up_(ez_ + a.stride),
        hx_(a.hx + j * a.stride),
        hx_up_(a.hx + (j + 1) * a.stride),
        hy_(a.hy + j * a.stride),
        here_(load(ez_)),
        left_(next_hy(load(ez_ - lanes_of<Real>), here_, 0))
  {
  }

  /// Old Ez, which the pack before has loaded.
  Pack<Real> before(const Real* /*ez*/, std::int32_t /*i*/) const { return here_; }

  Pack<Real> operator()(std::int32_t i)
  {
    const std::int32_t next = i + lanes_of<Real>;
    const Pack<Real> here = here_;
    here_ = load(ez_ + next);
    const Pack<Real> right = next_hy(here, here_, next);
    Pack<Real> up = load(hx_up_ + i);
    if constexpr (Above) {
      up = up - (load(ez_up_ + i) - here);
      store(hx_up_ + i, up);
    }
    const Pack<Real> along_x = right_of<Real>(left_, right) - left_;
    left_ = right;
    return along_x - (up - load(hx_ + i));
  }

private:
  Pack<Real> next_hy(Pack<Real> before, Pack<Real> here, std::int32_t i) const
  {
    const Pack<Real> updated = load(hy_ + i) + (here - left_of<Real>(before, here));
    store(hy_ + i, updated);
    return updated;
  }

  const Real* ez_;
  const Real* ez_up_;
  const Real* hx_;
  Real* hx_up_;
  Real* hy_;
  Pack<Real> here_;  ///< old Ez at the pack's own columns
  Pack<Real> left_;  ///< and Hy
};

template <class Real, int K>
void update_cells(const SweepArgs<Real>& a, std::int32_t j, bool above)
{
  const std::ptrdiff_t offset = j * a.stride;
  const RowOf<Real> row = row_of<Real, K>(a.ez, offset, a.pole_gain, a.palette, a.media);
  add_to_hy(a, j);
  if (above && a.ny > 1) {
    add_to_hx(a, j + 1);
    update_row<Real, K>(row, j, CurlOfRow<Real, true>(a, j));
  } else {
    update_row<Real, K>(row, j, CurlOfRow<Real, false>(a, j));
  }
  if (a.depth > 0 && a.poles_in_absorber) {
    e_strips<Real, K>(a, row, j);
  } else if (a.depth > 0) {
    e_strips<Real, 0>(a, row, j);
  }
  add_to_polar_row<Real, K>(a.to_centres, row, j, a.amounts);
}

template <class Real>
SweepKernel<Real> kernel_for(int poles)
{
  switch (poles) {
    case 0:
      return {update_hx<Real>, update_cells<Real, 0>};
    case 1:
      return {update_hx<Real>, update_cells<Real, 1>};
    case 2:
      return {update_hx<Real>, update_cells<Real, 2>};
    case 3:
      return {update_hx<Real>, update_cells<Real, 3>};
    default:
      return {update_hx<Real>, update_cells<Real, 4>};
  }
}

}  // namespace
}  // namespace torsowave::solver::kernels
