/// \file
/// \brief The steppers that are timed against each other.

#pragma once

#include <vector>

#include "bench/measure.hpp"
#include "bench/scene.hpp"

namespace torsowave::bench {

// Names of the contenders, as they stand in the JSON.
inline constexpr const char* textbook_double = "textbook_double";
inline constexpr const char* textbook_simd = "textbook_double_simd";
inline constexpr const char* textbook_float = "textbook_float";
inline constexpr const char* plain_sweep = "plain_sweep";
inline constexpr const char* tiled = "tiled";
inline constexpr const char* numpy = "numpy";

/// The textbook stepper in double (with and without `omp simd`) and in float. One stepper
/// of each serves all numbers of threads.
[[nodiscard]] std::vector<Contender> textbook_contenders(const Scene& scene,
                                                         const std::vector<int>& threads);

/// The product's stepper of the scene's mode, in single precision: one pass over memory
/// for each step, and as many steps in a pass as it chooses itself. Steps are asked for
/// by observation intervals, as runs do.
[[nodiscard]] std::vector<Contender> product_contenders(const Scene& scene,
                                                        const std::vector<int>& threads);

}  // namespace torsowave::bench
