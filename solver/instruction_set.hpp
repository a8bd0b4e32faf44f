/// \file
/// \brief Which instruction set the kernels use: the best one the processor has.

#pragma once

#include "solver/kernels/observe_args.hpp"
#include "solver/kernels/sweep_args.hpp"
#include "solver/kernels/tez_args.hpp"

namespace torsowave::solver {

enum class InstructionSet { baseline, avx2, avx512 };

/// The best set that this processor can run.
[[nodiscard]] InstructionSet best_instruction_set() noexcept;

/// "baseline", "avx2" or "avx512".
[[nodiscard]] const char* name_of(InstructionSet set) noexcept;

/// Kernels for `poles` shared relaxation times, 0 to 4.
template <class Real>
[[nodiscard]] kernels::SweepKernel<Real> sweep_kernel(InstructionSet set, int poles);

template <class Real>
[[nodiscard]] kernels::TezKernel<Real> tez_kernel(InstructionSet set, int poles);

template <class Real>
[[nodiscard]] kernels::ObserveKernel<Real> observe_kernel(InstructionSet set);

}  // namespace torsowave::solver
