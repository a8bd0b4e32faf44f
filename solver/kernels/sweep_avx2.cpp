#include "solver/kernels/observe_body_internal.hpp"
#include "solver/kernels/sweep_body_internal.hpp"
#include "solver/kernels/tez_body_internal.hpp"

#if !defined(__AVX2__) || !defined(__FMA__)
#error "this file needs the options that solver/CMakeLists.txt gives it"
#endif

namespace torsowave::solver::kernels {

SweepKernel<float> avx2_kernel_float(int poles)
{
  return kernel_for<float>(poles);
}

SweepKernel<double> avx2_kernel_double(int poles)
{
  return kernel_for<double>(poles);
}

TezKernel<float> avx2_tez_kernel_float(int poles)
{
  return tez_kernel_for<float>(poles);
}

TezKernel<double> avx2_tez_kernel_double(int poles)
{
  return tez_kernel_for<double>(poles);
}

ObserveKernel<float> avx2_observe_kernel_float()
{
  return {add_phasors<float>, sum_of_squares<float>};
}

ObserveKernel<double> avx2_observe_kernel_double()
{
  return {add_phasors<double>, sum_of_squares<double>};
}

}  // namespace torsowave::solver::kernels
