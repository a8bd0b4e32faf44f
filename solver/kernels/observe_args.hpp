/// \file
/// \brief What observers do with rows of a field, as plain data; see sweep_args.hpp.

#pragma once

#include <cstdint>

namespace torsowave::solver::kernels {

/// One instruction set's kernels for observers.
template <class Real>
struct ObserveKernel {
  /// sums[i] += (re, im) row[i] for `count` samples; sums are pairs of (re, im).
  void (*add_phasors)(const Real* row, std::int32_t count, double re, double im,
                      double* sums);
  /// Sum of row[i]^2.
  double (*sum_of_squares)(const Real* row, std::int32_t count);
};

[[nodiscard]] ObserveKernel<float> baseline_observe_kernel_float();
[[nodiscard]] ObserveKernel<double> baseline_observe_kernel_double();
[[nodiscard]] ObserveKernel<float> avx2_observe_kernel_float();
[[nodiscard]] ObserveKernel<double> avx2_observe_kernel_double();
[[nodiscard]] ObserveKernel<float> avx512_observe_kernel_float();
[[nodiscard]] ObserveKernel<double> avx512_observe_kernel_double();

}  // namespace torsowave::solver::kernels
