/// \file
/// \brief What observers do with a row of a field: Fourier sums and squares.
///
/// Included once by each instruction set's source file; everything has internal linkage.
/// Sums are in double precision. Count for one sample and frequency: 32 bytes of sums in
/// and out, two fused multiplications and additions.

#pragma once

#include "solver/kernels/observe_args.hpp"
#include "solver/kernels/pack_internal.hpp"

namespace torsowave::solver::kernels {
namespace {

/// As many numbers as a pack of doubles holds, of either type, as doubles.
inline Pack<double> load_doubles(const double* at)
{
  return load_anywhere(at);
}

inline Pack<double> load_doubles(const float* at)
{
  using Floats __attribute__((vector_size(pack_bytes / 2))) = float;
  Floats floats;
  __builtin_memcpy(&floats, at, sizeof(floats));
  return __builtin_convertvector(floats, Pack<double>);
}

/// Each lane from `First` on twice: v0 v0 v1 v1 ...
template <int First, std::size_t... Lane>
Pack<double> doubled(Pack<double> values, std::index_sequence<Lane...>)
{
  return __builtin_shufflevector(values, values, (First + static_cast<int>(Lane) / 2)...);
}

inline void add_pack(double* sums, Pack<double> weight, Pack<double> values)
{
  store_anywhere(sums, mul_add(weight, values, load_anywhere(sums)));
}

template <class Real>
void add_phasors(const Real* row, std::int32_t count, double re, double im, double* sums)
{
  constexpr std::int32_t lanes = static_cast<std::int32_t>(lanes_of<double>);
  constexpr auto all_lanes = std::make_index_sequence<static_cast<std::size_t>(lanes)>();
  Pack<double> weight{};
  for (std::int32_t n = 0; n < lanes; ++n) {
    weight[n] = n % 2 == 0 ? re : im;
  }
  std::int32_t i = 0;
  for (; i + lanes <= count; i += lanes) {
    const Pack<double> values = load_doubles(row + i);
    double* const at = sums + std::ptrdiff_t{2} * i;
    add_pack(at, weight, doubled<0>(values, all_lanes));
    add_pack(at + lanes, weight, doubled<lanes / 2>(values, all_lanes));
  }
  for (; i < count; ++i) {
    const auto value = static_cast<double>(row[i]);
    double* const at = sums + std::ptrdiff_t{2} * i;
    at[0] = mul_add(re, value, at[0]);
    at[1] = mul_add(im, value, at[1]);
  }
}

template <class Real>
double sum_of_squares(const Real* row, std::int32_t count)
{
  constexpr std::int32_t lanes = static_cast<std::int32_t>(lanes_of<double>);
  Pack<double> sums{};
  std::int32_t i = 0;
  for (; i + lanes <= count; i += lanes) {
    const Pack<double> values = load_doubles(row + i);
    sums = mul_add(values, values, sums);
  }
  double sum = 0.0;
  for (std::int32_t n = 0; n < lanes; ++n) {
    sum += sums[n];
  }
  for (; i < count; ++i) {
    const auto value = static_cast<double>(row[i]);
    sum = mul_add(value, value, sum);
  }
  return sum;
}

}  // namespace
}  // namespace torsowave::solver::kernels
