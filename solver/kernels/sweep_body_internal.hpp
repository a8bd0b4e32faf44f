/// \file
/// \brief One time step of a band of rows, in one pass over memory.
///
/// Included once by each instruction set's source file; everything has internal linkage.
///
/// Equations (Yee 1966; bilinear Debye update derived in docs/numerics.md), with
/// h = H mu0 dx/dt, so that the update of H needs no multiplication:
///   hx[e]' = hx[e] - (ez[e] - ez[e-1])          along y
///   hy[e]' = hy[e] + (ez[e] - ez[e-1])          along x
///   ez'    = ez + Cb ((hy[i+1] - hy[i]) - (hx[j+1] - hx[j])) - (1 - Ca) ez + sum_k Cq_k
///   q_k q_k'   = q_k + b_k (ez + ez' - 2 q_k)
/// The last line is q' = a q + b (ez + ez') with a = 1 - 2 b put in: its static gain is
/// exactly 1 in any precision. In the absorber a derivative d becomes d + (1/kappa - 1) d
/// + psi; the second and third term are added after the plain update, to Q as well, which
/// is linear.
///
/// Count for one interior cell and K poles: Ez, hx, hy, q_k in and out = (24 + 8 K) bytes
/// in single precision, and 2 + 2 + 4 + (1 + 4) K = 8 + 5 K additions and multiplications
/// or less with fused ones. Coefficients are broadcast along runs of one medium.

#pragma once

#include "solver/kernels/sweep_args.hpp"

namespace torsowave::solver::kernels {
namespace {

/// Adds what sources add to one row of a field without polarisation.
template <class Real>
void add_to_row(const AddedRows& added, std::int32_t row, const Real* amounts,
                Real* field)
{
  if (added.rows == nullptr) {
    return;
  }
  for (std::int32_t s = added.rows[row]; s < added.rows[row + 1]; ++s) {
    const AddedSpan& span = added.spans[s];
    for (std::int32_t p = 0; p < span.count; ++p) {
      field[span.begin + p] += amounts[span.at + p];
    }
  }
}

template <class Real>
void hx_strip(const SweepArgs<Real>& a, std::int32_t e, const Real* above,
              const Real* below, Real* hx)
{
  const bool low = e < a.depth;
  if (!low && e <= a.ny - a.depth) {
    return;
  }
  const std::int32_t d = low ? e : e - (a.ny - a.depth) - 1;
  const AbsorberSide<Real>& side = a.y_edges[low ? 0 : 1];
  Real* __restrict psi = a.psi_hx + (low ? d : a.depth + d) * a.stride;
  const Real b = side.b[d];
  const Real c = side.c[d];
  const Real extra = side.extra[d];
#pragma omp simd
  for (std::int32_t i = 0; i < a.nx; ++i) {
    const Real slope = above[i] - below[i];
    psi[i] = b * psi[i] + c * slope;
    hx[i] -= psi[i] + extra * slope;
  }
}

/// Rows -1 and ny of Ez are rows of zeros in the array's padding.
template <class Real>
void update_hx(const SweepArgs<Real>& a, std::int32_t e)
{
  if (a.ny == 1) {
    return;
  }
  const Real* __restrict above = a.ez + e * a.stride;
  const Real* __restrict below = above - a.stride;
  Real* __restrict hx = a.hx + e * a.stride;
#pragma omp simd
  for (std::int32_t i = 0; i < a.nx; ++i) {
    hx[i] -= above[i] - below[i];
  }
  hx_strip(a, e, above, below, hx);
  add_to_row(a.to_x_edges, e, a.amounts, hx);
}

template <class Real>
void hy_strip(const SweepArgs<Real>& a, std::int32_t side, const Real* ez, Real* hy,
              Real* psi)
{
  const std::int32_t first = side == 0 ? 0 : a.nx - a.depth + 1;
  const AbsorberSide<Real>& s = a.x_edges[side];
#pragma omp simd
  for (std::int32_t d = 0; d < a.depth; ++d) {
    const Real slope = ez[first + d] - ez[first + d - 1];
    psi[d] = s.b[d] * psi[d] + s.c[d] * slope;
    hy[first + d] += psi[d] + s.extra[d] * slope;
  }
}

template <class Real>
void update_hy(const SweepArgs<Real>& a, std::int32_t j)
{
  const Real* __restrict ez = a.ez + j * a.stride;
  Real* __restrict hy = a.hy + j * a.stride;
#pragma omp simd
  for (std::int32_t e = 0; e <= a.nx; ++e) {
    hy[e] += ez[e] - ez[e - 1];
  }
  if (a.depth > 0) {
    Real* psi = a.psi_hy + static_cast<std::ptrdiff_t>(j) * 2 * a.depth;
    hy_strip(a, 0, ez, hy, psi);
    hy_strip(a, 1, ez, hy, psi + a.depth);
  }
  add_to_row(a.to_y_edges, j, a.amounts, hy);
}

template <class Real>
struct RowPointers {
  Real* ez;
  const Real* hx;
  const Real* hx_up;
  const Real* hy;
  Real* q[max_poles];
};

template <class Real>
void plain_run(const SweepArgs<Real>& a, const RowPointers<Real>& row, const Run& run)
{
  const Real curl = a.palette[run.at].curl;
  const Real loss = a.palette[run.at].loss;
  Real* __restrict ez = row.ez;
  const Real* __restrict hx = row.hx;
  const Real* __restrict hx_up = row.hx_up;
  const Real* __restrict hy = row.hy;
#pragma omp simd
  for (std::int32_t i = run.begin; i < run.end; ++i) {
    const Real c = (hy[i + 1] - hy[i]) - (hx_up[i] - hx[i]);
    ez[i] += curl * c - loss * ez[i];
  }
}

/// `Mixed` reads the coefficients cell by cell instead of once for the run.
template <class Real, int K, bool Mixed>
void pole_run(const SweepArgs<Real>& a, const RowPointers<Real>& row, const Run& run)
{
  Real* __restrict ez = row.ez;
  const Real* __restrict hx = row.hx;
  const Real* __restrict hx_up = row.hx_up;
  const Real* __restrict hy = row.hy;
  Real* __restrict q0 = row.q[0];
  Real* __restrict q1 = row.q[1];
  Real* __restrict q2 = row.q[2];
  Real* __restrict q3 = row.q[3];
  const std::ptrdiff_t shift =
      Mixed ? static_cast<std::ptrdiff_t>(run.at) - run.begin : 0;
  const CellCoefficients<Real>& one = a.palette[Mixed ? 0 : run.at];
  const Real* __restrict mixed_curl = a.mixed_curl + shift;
  const Real* __restrict mixed_loss = a.mixed_loss + shift;
  const Real* __restrict m0 = K > 0 ? a.mixed_pole[0] + shift : nullptr;
  const Real* __restrict m1 = K > 1 ? a.mixed_pole[1] + shift : nullptr;
  const Real* __restrict m2 = K > 2 ? a.mixed_pole[2] + shift : nullptr;
  const Real* __restrict m3 = K > 3 ? a.mixed_pole[3] + shift : nullptr;
  const Real g0 = a.pole_gain[0];
  const Real g1 = a.pole_gain[1];
  const Real g2 = a.pole_gain[2];
  const Real g3 = a.pole_gain[3];
  const Real two = 2;
#pragma omp simd
  for (std::int32_t i = run.begin; i < run.end; ++i) {
    const Real c = (hy[i + 1] - hy[i]) - (hx_up[i] - hx[i]);
    const Real before = ez[i];
    Real change = (Mixed ? mixed_curl[i] : one.curl) * c -
                  (Mixed ? mixed_loss[i] : one.loss) * before;
    if constexpr (K > 0) {
      change += (Mixed ? m0[i] : one.pole[0]) * q0[i];
    }
    if constexpr (K > 1) {
      change += (Mixed ? m1[i] : one.pole[1]) * q1[i];
    }
    if constexpr (K > 2) {
      change += (Mixed ? m2[i] : one.pole[2]) * q2[i];
    }
    if constexpr (K > 3) {
      change += (Mixed ? m3[i] : one.pole[3]) * q3[i];
    }
    const Real after = before + change;
    const Real sum = before + after;
    ez[i] = after;
    if constexpr (K > 0) {
      q0[i] += g0 * (sum - two * q0[i]);
    }
    if constexpr (K > 1) {
      q1[i] += g1 * (sum - two * q1[i]);
    }
    if constexpr (K > 2) {
      q2[i] += g2 * (sum - two * q2[i]);
    }
    if constexpr (K > 3) {
      q3[i] += g3 * (sum - two * q3[i]);
    }
  }
}

/// Adds `change` to Ez[i] after the plain update, and what follows from it to the poles.
template <class Real, int K>
void add_change(const SweepArgs<Real>& a, const RowPointers<Real>& row, std::int32_t i,
                Real change)
{
  row.ez[i] += change;
  for (int k = 0; k < K; ++k) {
    row.q[k][i] += a.pole_gain[k] * change;
  }
}

template <class Real, int K>
void add_to_centres(const SweepArgs<Real>& a, const RowPointers<Real>& row,
                    std::int32_t j)
{
  if (a.to_centres.rows == nullptr) {
    return;
  }
  for (std::int32_t s = a.to_centres.rows[j]; s < a.to_centres.rows[j + 1]; ++s) {
    const AddedSpan& span = a.to_centres.spans[s];
    for (std::int32_t p = 0; p < span.count; ++p) {
      add_change<Real, K>(a, row, span.begin + p, a.amounts[span.at + p]);
    }
  }
}

template <class Real, int K>
void e_strip_along_x(const SweepArgs<Real>& a, const RowPointers<Real>& row,
                     std::int32_t j)
{
  for (int side = 0; side < 2; ++side) {
    const std::int32_t first = side == 0 ? 0 : a.nx - a.depth;
    const AbsorberSide<Real>& s = a.x_cells[side];
    const std::ptrdiff_t at = (static_cast<std::ptrdiff_t>(j) * 2 + side) * a.depth;
    Real* __restrict psi = a.psi_ex + at;
    const Real* __restrict curl = a.curl_x + at;
    Real* __restrict ez = row.ez + first;
    const Real* __restrict hy = row.hy + first;
    if (K == 0 || !a.poles_in_absorber) {
#pragma omp simd
      for (std::int32_t d = 0; d < a.depth; ++d) {
        const Real slope = hy[d + 1] - hy[d];
        psi[d] = s.b[d] * psi[d] + s.c[d] * slope;
        ez[d] += curl[d] * (psi[d] + s.extra[d] * slope);
      }
      continue;
    }
    for (std::int32_t d = 0; d < a.depth; ++d) {
      const Real slope = hy[d + 1] - hy[d];
      psi[d] = s.b[d] * psi[d] + s.c[d] * slope;
      add_change<Real, K>(a, row, first + d, curl[d] * (psi[d] + s.extra[d] * slope));
    }
  }
}

template <class Real, int K>
void e_strip_along_y(const SweepArgs<Real>& a, const RowPointers<Real>& row,
                     std::int32_t j)
{
  const bool low = j < a.depth;
  if (a.ny == 1 || (!low && j < a.ny - a.depth)) {
    return;
  }
  const std::int32_t d = low ? j : j - (a.ny - a.depth);
  const AbsorberSide<Real>& s = a.y_cells[low ? 0 : 1];
  const std::ptrdiff_t at = (low ? d : a.depth + d) * a.stride;
  Real* __restrict psi = a.psi_ey + at;
  const Real* __restrict curl = a.curl_y + at;
  Real* __restrict ez = row.ez;
  const Real* __restrict hx = row.hx;
  const Real* __restrict hx_up = row.hx_up;
  const Real b = s.b[d];
  const Real c = s.c[d];
  const Real extra = s.extra[d];
  if (K == 0 || !a.poles_in_absorber) {
#pragma omp simd
    for (std::int32_t i = 0; i < a.nx; ++i) {
      const Real slope = hx_up[i] - hx[i];
      psi[i] = b * psi[i] + c * slope;
      ez[i] -= curl[i] * (psi[i] + extra * slope);
    }
    return;
  }
  for (std::int32_t i = 0; i < a.nx; ++i) {
    const Real slope = hx_up[i] - hx[i];
    psi[i] = b * psi[i] + c * slope;
    add_change<Real, K>(a, row, i, -curl[i] * (psi[i] + extra * slope));
  }
}

template <class Real, int K>
void update_e(const SweepArgs<Real>& a, std::int32_t j)
{
  RowPointers<Real> row{};
  row.ez = a.ez + j * a.stride;
  row.hx = a.hx + j * a.stride;
  row.hx_up = row.hx + a.stride;
  row.hy = a.hy + j * a.stride;
  for (int k = 0; k < K; ++k) {
    row.q[k] = a.q[k] + j * a.stride;
  }
  for (std::int32_t r = a.row_runs[j]; r < a.row_runs[j + 1]; ++r) {
    const Run& run = a.runs[r];
    if (run.kind == RunKind::plain) {
      plain_run(a, row, run);
    } else if (run.kind == RunKind::uniform) {
      pole_run<Real, K, false>(a, row, run);
    } else {
      pole_run<Real, K, true>(a, row, run);
    }
  }
  if (a.depth > 0) {
    e_strip_along_x<Real, K>(a, row, j);
    e_strip_along_y<Real, K>(a, row, j);
  }
  add_to_centres<Real, K>(a, row, j);
}

template <class Real>
void first_edge(const SweepArgs<Real>& a, std::int32_t e)
{
  update_hx(a, e);
}

/// Row j needs hx on edges j and j + 1 and hy of row j, all from the old Ez; row j + 1 of
/// Ez is still old when edge j + 1 is updated, so one ascending pass does both halves of
/// the step.
template <class Real, int K>
void sweep_rows(const SweepArgs<Real>& a, std::int32_t begin, std::int32_t end)
{
  for (std::int32_t j = begin; j < end; ++j) {
    if (j + 1 < end || j + 1 == a.ny) {
      update_hx(a, j + 1);
    }
    update_hy(a, j);
    update_e<Real, K>(a, j);
  }
}

template <class Real>
SweepKernel<Real> kernel_for(int poles)
{
  switch (poles) {
    case 0:
      return {first_edge<Real>, sweep_rows<Real, 0>};
    case 1:
      return {first_edge<Real>, sweep_rows<Real, 1>};
    case 2:
      return {first_edge<Real>, sweep_rows<Real, 2>};
    case 3:
      return {first_edge<Real>, sweep_rows<Real, 3>};
    default:
      return {first_edge<Real>, sweep_rows<Real, 4>};
  }
}

}  // namespace
}  // namespace torsowave::solver::kernels
