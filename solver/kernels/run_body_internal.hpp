/// \file
/// \brief Advances one row of a field with relaxations, run by run of one medium.
///
/// Included by the sweep bodies, once for each instruction set; internal linkage. The
/// curl comes as a functor of the column, so that Ez (four edges) and Ex, Ey (two
/// centres) share the code:
///   f'     = f + Cb curl - (1 - Ca) f + sum_k Cq_k q_k
///   q_k'   = q_k + b_k (f + f' - 2 q_k)
/// The last line is q' = a q + b (f + f') with a = 1 - 2 b put in: its static gain is
/// exactly 1 in any precision.

#pragma once

#include "solver/kernels/sweep_args.hpp"

namespace torsowave::solver::kernels {
namespace {

/// a b + c, rounded once where the processor can. Files of this folder are compiled
/// without contraction, so that one number comes out the same from every loop.
inline float mul_add(float a, float b, float c)
{
#if defined(__FMA__)
  return __builtin_fmaf(a, b, c);
#else
  return a * b + c;
#endif
}

inline double mul_add(double a, double b, double c)
{
#if defined(__FMA__)
  return __builtin_fma(a, b, c);
#else
  return a * b + c;
#endif
}

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

/// One row of a field with its media.
template <class Real>
struct RowOf {
  Real* field;
  Real* q[max_poles];
  const Real* gain;  ///< b_k
  const CellCoefficients<Real>* palette;
  const MediumRows<Real>* media;
};

template <class Real, int K>
RowOf<Real> row_of(const PolarField<Real>& field, std::ptrdiff_t offset, const Real* gain,
                   const CellCoefficients<Real>* palette, const MediumRows<Real>& media)
{
  RowOf<Real> row{};
  row.field = field.field + offset;
  for (int k = 0; k < K; ++k) {
    row.q[k] = field.q[k] + offset;
  }
  row.gain = gain;
  row.palette = palette;
  row.media = &media;
  return row;
}

template <class Real, class Curl>
void plain_run(const RowOf<Real>& row, const Run& run, const Curl& curl_at)
{
  const Real curl = row.palette[run.at].curl;
  const Real loss = row.palette[run.at].loss;
  Real* __restrict f = row.field;
#pragma omp simd
  for (std::int32_t i = run.begin; i < run.end; ++i) {
    const Real before = f[i];
    const Real c = curl_at(i, before);
    f[i] = before + mul_add(curl, c, -(loss * before));
  }
}

/// `Mixed` reads the coefficients cell by cell instead of once for the run.
template <class Real, int K, bool Mixed, class Curl>
void pole_run(const RowOf<Real>& row, const Run& run, const Curl& curl_at)
{
  Real* __restrict f = row.field;
  Real* __restrict q0 = row.q[0];
  Real* __restrict q1 = row.q[1];
  Real* __restrict q2 = row.q[2];
  Real* __restrict q3 = row.q[3];
  const std::ptrdiff_t shift =
      Mixed ? static_cast<std::ptrdiff_t>(run.at) - run.begin : 0;
  const CellCoefficients<Real>& one = row.palette[Mixed ? 0 : run.at];
  const MediumRows<Real>& media = *row.media;
  const Real* __restrict mixed_curl = media.mixed_curl + shift;
  const Real* __restrict mixed_loss = media.mixed_loss + shift;
  const Real* __restrict m0 = K > 0 ? media.mixed_pole[0] + shift : nullptr;
  const Real* __restrict m1 = K > 1 ? media.mixed_pole[1] + shift : nullptr;
  const Real* __restrict m2 = K > 2 ? media.mixed_pole[2] + shift : nullptr;
  const Real* __restrict m3 = K > 3 ? media.mixed_pole[3] + shift : nullptr;
  const Real g0 = row.gain[0];
  const Real g1 = row.gain[1];
  const Real g2 = row.gain[2];
  const Real g3 = row.gain[3];
  const Real minus_two = -2;
#pragma omp simd
  for (std::int32_t i = run.begin; i < run.end; ++i) {
    const Real before = f[i];
    const Real c = curl_at(i, before);
    Real change = mul_add(Mixed ? mixed_curl[i] : one.curl, c,
                          -((Mixed ? mixed_loss[i] : one.loss) * before));
    if constexpr (K > 0) {
      change = mul_add(Mixed ? m0[i] : one.pole[0], q0[i], change);
    }
    if constexpr (K > 1) {
      change = mul_add(Mixed ? m1[i] : one.pole[1], q1[i], change);
    }
    if constexpr (K > 2) {
      change = mul_add(Mixed ? m2[i] : one.pole[2], q2[i], change);
    }
    if constexpr (K > 3) {
      change = mul_add(Mixed ? m3[i] : one.pole[3], q3[i], change);
    }
    const Real after = before + change;
    const Real sum = before + after;
    f[i] = after;
    if constexpr (K > 0) {
      q0[i] = mul_add(g0, mul_add(minus_two, q0[i], sum), q0[i]);
    }
    if constexpr (K > 1) {
      q1[i] = mul_add(g1, mul_add(minus_two, q1[i], sum), q1[i]);
    }
    if constexpr (K > 2) {
      q2[i] = mul_add(g2, mul_add(minus_two, q2[i], sum), q2[i]);
    }
    if constexpr (K > 3) {
      q3[i] = mul_add(g3, mul_add(minus_two, q3[i], sum), q3[i]);
    }
  }
}

/// The plain update of row number `r`.
template <class Real, int K, class Curl>
void update_row(const RowOf<Real>& row, std::int32_t r, const Curl& curl_at)
{
  for (std::int32_t n = row.media->row_runs[r]; n < row.media->row_runs[r + 1]; ++n) {
    const Run& run = row.media->runs[n];
    if (run.kind == RunKind::plain) {
      plain_run<Real>(row, run, curl_at);
    } else if (run.kind == RunKind::uniform) {
      pole_run<Real, K, false>(row, run, curl_at);
    } else {
      pole_run<Real, K, true>(row, run, curl_at);
    }
  }
}

/// Adds `change` to a sample after the plain update, and what follows from it to the
/// poles: the update is linear.
template <class Real, int K>
void add_change(const RowOf<Real>& row, std::int32_t i, Real change)
{
  row.field[i] += change;
  for (int k = 0; k < K; ++k) {
    row.q[k][i] = mul_add(row.gain[k], change, row.q[k][i]);
  }
}

/// Adds what sources add to row number `r`.
template <class Real, int K>
void add_to_polar_row(const AddedRows& added, const RowOf<Real>& row, std::int32_t r,
                      const Real* amounts)
{
  if (added.rows == nullptr) {
    return;
  }
  for (std::int32_t s = added.rows[r]; s < added.rows[r + 1]; ++s) {
    const AddedSpan& span = added.spans[s];
    for (std::int32_t p = 0; p < span.count; ++p) {
      add_change<Real, K>(row, span.begin + p, amounts[span.at + p]);
    }
  }
}

}  // namespace
}  // namespace torsowave::solver::kernels
