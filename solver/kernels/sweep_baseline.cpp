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

}  // namespace torsowave::solver::kernels
