/// \file
/// \brief Advances one row of a field with relaxations, run by run of one medium.
///
/// Included by the sweep bodies, once for each instruction set; internal linkage. The
/// curl comes pack by pack from a functor that is called along the row in order, after it
/// has been asked for the field's old values:
///   f'     = f + Cb curl - (1 - Ca) f + sum_k Cq_k q_k
///   q_k'   = q_k + b_k (f + f' - 2 q_k)
/// The last line is q' = a q + b (f + f') with a = 1 - 2 b put in: its static gain is
/// exactly 1 in any precision.
///
/// A row ends with a whole pack: what lies beyond its last column are conductors, and
/// stays 0.

#pragma once

#include "solver/kernels/pack_internal.hpp"
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

/// Where a run's coefficients come from: one medium, or cell by cell.
template <class Real, bool Mixed, bool Averaged>
struct Coefficients {
  Pack<Real> curl_, loss_, pole_[max_poles], part_;
  const Real *curls, *losses, *poles[max_poles], *lefts, *rights;

  template <int K>
  static Coefficients of(const RowOf<Real>& row, const Run& run)
  {
    Coefficients c{};
    if constexpr (Mixed) {
      const std::ptrdiff_t shift = static_cast<std::ptrdiff_t>(run.at) - run.begin;
      c.curls = row.media->mixed_curl + shift;
      c.losses = row.media->mixed_loss + shift;
      for (int k = 0; k < K; ++k) {
        c.poles[k] = row.media->mixed_pole[k] + shift;
      }
      if constexpr (Averaged) {
        c.lefts = row.media->mixed_left + shift;
        c.rights = row.media->mixed_right + shift;
      }
    } else {
      const CellCoefficients<Real>& medium = row.palette[run.at];
      c.curl_ = all(medium.curl);
      c.loss_ = all(medium.loss);
      for (int k = 0; k < K; ++k) {
        c.pole_[k] = all(medium.pole[k]);
      }
      c.part_ = all(row.media->averaged_part);
    }
    return c;
  }
  Pack<Real> curl(std::int32_t i) const { return Mixed ? load(curls + i) : curl_; }
  Pack<Real> left(std::int32_t i) const { return Mixed ? load(lefts + i) : part_; }
  Pack<Real> right(std::int32_t i) const { return Mixed ? load(rights + i) : part_; }
  Pack<Real> loss(std::int32_t i) const { return Mixed ? load(losses + i) : loss_; }
  Pack<Real> pole(int k, std::int32_t i) const
  {
    return Mixed ? load(poles[k] + i) : pole_[k];
  }
};

/// K = 0 leaves the relaxations alone. Inlined, so that what the curl carries from pack
/// to pack stays in registers from run to run.
template <class Real, int K, bool Mixed, bool Averaged, class Curl>
[[gnu::always_inline]] inline void update_run(const RowOf<Real>& row, const Run& run,
                                              Curl& curl)
{
  const auto of = Coefficients<Real, Mixed, Averaged>::template of<K>(row, run);
  Pack<Real> gain[max_poles];
  for (int k = 0; k < K; ++k) {
    gain[k] = all(row.gain[k]);
  }
  const Pack<Real> minus_two = all(Real(-2));
  for (std::int32_t i = run.begin; i < run.end; i += lanes_of<Real>) {
    const Pack<Real> before = curl.before(row.field, i);
    Pack<Real> c;
    if constexpr (Averaged) {
      c = curl.averaged(i, of.left(i), of.right(i));
    } else {
      c = curl(i);
    }
    Pack<Real> change = mul_add(of.curl(i), c, -(of.loss(i) * before));
    Pack<Real> q[max_poles];
    for (int k = 0; k < K; ++k) {
      q[k] = load(row.q[k] + i);
      change = mul_add(of.pole(k, i), q[k], change);
    }
    const Pack<Real> after = before + change;
    store(row.field + i, after);
    const Pack<Real> sum = before + after;
    for (int k = 0; k < K; ++k) {
      store(row.q[k] + i, mul_add(gain[k], mul_add(minus_two, q[k], sum), q[k]));
    }
  }
}

template <class Real, int K, bool Averaged, class Curl>
[[gnu::always_inline]] inline void update_any_run(const RowOf<Real>& row, const Run& run,
                                                  Curl& curl)
{
  if (run.kind == RunKind::plain) {
    update_run<Real, 0, false, Averaged>(row, run, curl);
  } else if (run.kind == RunKind::uniform) {
    update_run<Real, K, false, Averaged>(row, run, curl);
  } else {
    update_run<Real, K, true, Averaged>(row, run, curl);
  }
}

/// The plain update of row number `r`. A curl that can be averaged (Curl::averages) has
/// averaged(column, left weight, right weight), too.
template <class Real, int K, class Curl>
void update_row(const RowOf<Real>& row, std::int32_t r, Curl curl)
{
  for (std::int32_t n = row.media->row_runs[r]; n < row.media->row_runs[r + 1]; ++n) {
    const Run& run = row.media->runs[n];
    if constexpr (Curl::averages) {
      if (run.averaged != 0) {
        update_any_run<Real, K, true>(row, run, curl);
        continue;
      }
    }
    update_any_run<Real, K, false>(row, run, curl);
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

/// The same for the pack at column i, wherever that is.
template <class Real, int K>
void add_change(const RowOf<Real>& row, std::int32_t i, Pack<Real> change)
{
  store_anywhere(row.field + i, load_anywhere(row.field + i) + change);
  for (int k = 0; k < K; ++k) {
    Real* const q = row.q[k] + i;
    store_anywhere(q, mul_add(all(row.gain[k]), change, load_anywhere(q)));
  }
}

/// The recursive convolution of an absorber, for a pack of slopes across it.
template <class Real>
class AbsorberWeights {
public:
  /// One position d, for a pack along it.
  static AbsorberWeights at(const AbsorberSide<Real>& side, std::int32_t d)
  {
    return {all(side.b[d]), all(side.c[d]), all(side.extra[d])};
  }
  /// The positions from d on, a pack across them.
  static AbsorberWeights across(const AbsorberSide<Real>& side, std::int32_t d)
  {
    return {load(side.b + d), load(side.c + d), load(side.extra + d)};
  }

  /// What is added to a derivative `slope`, (1/kappa - 1) slope + psi; takes the pack of
  /// psi a step further.
  Pack<Real> term(Real* psi, Pack<Real> slope) const
  {
    const Pack<Real> memory = mul_add(b_, load(psi), c_ * slope);
    store(psi, memory);
    return mul_add(extra_, slope, memory);
  }

private:
  AbsorberWeights(Pack<Real> b, Pack<Real> c, Pack<Real> extra)
      : b_(b), c_(c), extra_(extra)
  {
  }

  Pack<Real> b_, c_, extra_;
};

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
