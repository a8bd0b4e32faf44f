/// \file
/// \brief The medium as the kernels read it: coefficients, and runs of one medium in each
/// row.

#pragma once

#include <cstddef>
#include <cstdint>
#include <new>
#include <span>
#include <vector>

#include "solver/grid.hpp"
#include "solver/kernels/sweep_args.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

/// Coefficients of the update (design of the scheme: docs/numerics.md).
///
/// With S = sigma dt/(2 eps0) + sum_k delta_k b_k and N = eps_inf + S:
/// Ca = (eps_inf - S)/N, Cb = (dt/eps0)/N, Cq_k = delta_k 2 b_k/N; for fields scaled as
/// in the kernels Cb becomes (c dt/dx)^2/N. A conductor has Cb = 0, 1 - Ca = 1, Cq = 0.
template <class Real>
[[nodiscard]] std::vector<kernels::CellCoefficients<Real>> update_coefficients(
    const Grid& grid, std::span<const MediumEntry> palette,
    const std::vector<double>& relaxation_times);

/// Memory on whole packs of any instruction set.
template <class T>
struct PackAllocator {
  using value_type = T;
  static constexpr std::align_val_t alignment{64};

  PackAllocator() = default;
  template <class U>
  explicit PackAllocator(const PackAllocator<U>& /*other*/) noexcept
  {
  }
  [[nodiscard]] T* allocate(std::size_t count)
  {
    return static_cast<T*>(::operator new(count * sizeof(T), alignment));
  }
  void deallocate(T* memory, std::size_t /*count*/) noexcept
  {
    ::operator delete(memory, alignment);
  }
  [[nodiscard]] bool operator==(const PackAllocator& /*other*/) const noexcept
  {
    return true;
  }
};

template <class T>
using AlignedVector = std::vector<T, PackAllocator<T>>;

/// The media of one field, row by row.
template <class Real>
struct RunTable {
  std::vector<kernels::Run> runs;
  std::vector<std::int32_t> row_runs;  ///< (rows + 1)
  AlignedVector<Real> mixed_curl;      ///< whole packs for each stretch
  AlignedVector<Real> mixed_loss;
  std::vector<AlignedVector<Real>> mixed_pole;  ///< one for each relaxation time
  AlignedVector<Real> mixed_left;  ///< what averaging takes from neighbours; empty: none
  AlignedVector<Real> mixed_right;

  [[nodiscard]] kernels::MediumRows<Real> view() const;

  /// Time that each row takes to update, in units of a cell without poles.
  [[nodiscard]] std::vector<double> row_costs() const;
};

/// \param entries   palette index of each sample, (rows, columns)
/// \param averaged  1 where a sample's curl and that of its left neighbour are averaged
///                  (TezMedium::x_averaged), (rows, columns); empty: nowhere
template <class Real>
[[nodiscard]] RunTable<Real> run_table(
    std::span<const std::uint16_t> entries, int columns,
    std::span<const MediumEntry> palette,
    const std::vector<kernels::CellCoefficients<Real>>& coefficients,
    std::span<const std::uint8_t> averaged = {});

/// Pole gain b_k = dt/(2 tau_k + dt).
[[nodiscard]] double pole_gain(double relaxation_time, double dt) noexcept;

}  // namespace torsowave::solver
