#include "solver/kernels/observe_body_internal.hpp"
#include "solver/kernels/sweep_body_internal.hpp"
#include "solver/kernels/tez_body_internal.hpp"

namespace torsowave::solver::kernels {

SweepKernel<float> baseline_kernel_float(int poles)
{
  return kernel_for<float>(poles);
}

SweepKernel<double> baseline_kernel_double(int poles)
{
  return kernel_for<double>(poles);
}

TezKernel<float> baseline_tez_kernel_float(int poles)
{
  return tez_kernel_for<float>(poles);
}

TezKernel<double> baseline_tez_kernel_double(int poles)
{
  return tez_kernel_for<double>(poles);
}

ObserveKernel<float> baseline_observe_kernel_float()
{
  return {add_phasors<float>, sum_of_squares<float>};
}

ObserveKernel<double> baseline_observe_kernel_double()
{
  return {add_phasors<double>, sum_of_squares<double>};
}

}  // namespace torsowave::solver::kernels
