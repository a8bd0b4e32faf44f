#include "solver/instruction_set.hpp"

namespace torsowave::solver {
namespace {

/// The one of three functions that belongs to `set`.
template <class Function>
[[nodiscard]] Function* pick(InstructionSet set, Function* baseline, Function* avx2,
                             Function* avx512)
{
  switch (set) {
    case InstructionSet::avx512:
      return avx512;
    case InstructionSet::avx2:
      return avx2;
    default:
      return baseline;
  }
}

}  // namespace

InstructionSet best_instruction_set() noexcept
{
  // Exactly the extensions that solver/CMakeLists.txt compiles the kernels for.
  const bool avx2 = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
                    __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
  const bool avx512 =
      avx2 && __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512bw") &&
      __builtin_cpu_supports("avx512cd") && __builtin_cpu_supports("avx512dq") &&
      __builtin_cpu_supports("avx512vl");
  if (avx512) {
    return InstructionSet::avx512;
  }
  if (avx2) {
    return InstructionSet::avx2;
  }
  return InstructionSet::baseline;
}

const char* name_of(InstructionSet set) noexcept
{
  switch (set) {
    case InstructionSet::avx512:
      return "avx512";
    case InstructionSet::avx2:
      return "avx2";
    default:
      return "baseline";
  }
}

template <>
kernels::SweepKernel<float> sweep_kernel<float>(InstructionSet set, int poles)
{
  return pick(set, kernels::baseline_kernel_float, kernels::avx2_kernel_float,
              kernels::avx512_kernel_float)(poles);
}

template <>
kernels::SweepKernel<double> sweep_kernel<double>(InstructionSet set, int poles)
{
  return pick(set, kernels::baseline_kernel_double, kernels::avx2_kernel_double,
              kernels::avx512_kernel_double)(poles);
}

template <>
kernels::TezKernel<float> tez_kernel<float>(InstructionSet set, int poles)
{
  return pick(set, kernels::baseline_tez_kernel_float, kernels::avx2_tez_kernel_float,
              kernels::avx512_tez_kernel_float)(poles);
}

template <>
kernels::TezKernel<double> tez_kernel<double>(InstructionSet set, int poles)
{
  return pick(set, kernels::baseline_tez_kernel_double, kernels::avx2_tez_kernel_double,
              kernels::avx512_tez_kernel_double)(poles);
}

template <>
kernels::ObserveKernel<float> observe_kernel<float>(InstructionSet set)
{
  return pick(set, kernels::baseline_observe_kernel_float,
              kernels::avx2_observe_kernel_float, kernels::avx512_observe_kernel_float)();
}

template <>
kernels::ObserveKernel<double> observe_kernel<double>(InstructionSet set)
{
  return pick(set, kernels::baseline_observe_kernel_double,
              kernels::avx2_observe_kernel_double,
              kernels::avx512_observe_kernel_double)();
}

}  // namespace torsowave::solver
