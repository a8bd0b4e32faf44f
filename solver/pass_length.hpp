/// \file
/// \brief How many time steps one pass over memory advances.

#pragma once

#include <cstddef>

namespace torsowave::solver {

/// Second-level cache of one core [bytes]; 512 KiB if the system does not tell.
[[nodiscard]] std::size_t level2_cache_bytes() noexcept;

/// Steps in a pass whose rows, `row_bytes` each, stay in second-level cache.
[[nodiscard]] int steps_per_pass(std::size_t row_bytes) noexcept;

/// The same unless `asked` for, above 0.
[[nodiscard]] int steps_per_pass(int asked, std::size_t row_bytes) noexcept;

}  // namespace torsowave::solver
