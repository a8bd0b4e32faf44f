#include "solver/instruction_set.hpp"

namespace torsowave::solver {

InstructionSet best_instruction_set() noexcept
{
  // The micro-architecture levels of the x86-64 psABI that the kernels are compiled for.
  if (__builtin_cpu_supports("x86-64-v4")) {
    return InstructionSet::avx512;
  }
  if (__builtin_cpu_supports("x86-64-v3")) {
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
  switch (set) {
    case InstructionSet::avx512:
      return kernels::avx512_kernel_float(poles);
    case InstructionSet::avx2:
      return kernels::avx2_kernel_float(poles);
    default:
      return kernels::baseline_kernel_float(poles);
  }
}

template <>
kernels::SweepKernel<double> sweep_kernel<double>(InstructionSet set, int poles)
{
  switch (set) {
    case InstructionSet::avx512:
      return kernels::avx512_kernel_double(poles);
    case InstructionSet::avx2:
      return kernels::avx2_kernel_double(poles);
    default:
      return kernels::baseline_kernel_double(poles);
  }
}

}  // namespace torsowave::solver
