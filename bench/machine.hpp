/// \file
/// \brief The machine that things are timed on.

#pragma once

#include <array>
#include <cstddef>
#include <string>

namespace torsowave::bench {

/// Caches and name of the processor.
struct Machine {
  std::string processor;
  std::string compiler;
  std::string instruction_set;  ///< that the product's kernels use
  int lanes = 4;                ///< floats in one of its vectors
  int processors = 1;           ///< that threads can run on
  std::size_t level1 = 0;       ///< data cache of one core [bytes]
  std::size_t level2 = 0;       ///< [bytes]
  std::size_t level3 = 0;       ///< shared [bytes]
};

[[nodiscard]] Machine this_machine();

/// Where arrays of some size stay.
enum class Level { l1, l2, l3, memory };
inline constexpr std::array levels{Level::l1, Level::l2, Level::l3, Level::memory};

/// "L1", "L2", "L3" or "memory".
[[nodiscard]] const char* name_of(Level level) noexcept;

/// The smallest cache that holds `bytes`, spread over `threads` cores.
[[nodiscard]] Level level_of(const Machine& machine, double bytes, int threads) noexcept;

}  // namespace torsowave::bench
