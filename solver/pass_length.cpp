#include "solver/pass_length.hpp"

#include <algorithm>

#include <unistd.h>

namespace torsowave::solver {

std::size_t level2_cache_bytes() noexcept
{
  constexpr long usual = 512L * 1024L;
#ifdef _SC_LEVEL2_CACHE_SIZE
  const long bytes = sysconf(_SC_LEVEL2_CACHE_SIZE);
#else
  const long bytes = 0;
#endif
  return static_cast<std::size_t>(bytes > 0 ? bytes : usual);
}

int steps_per_pass(std::size_t row_bytes) noexcept
{
  // Below the shortest the pass is bound by memory again: rather leave it to the third
  // level. Above the longest nothing is left to gain, and bands would have to be taller.
  constexpr std::size_t shortest = 12;
  constexpr std::size_t longest = 24;
  const std::size_t rows = level2_cache_bytes() * 3 / 4 / row_bytes;
  return static_cast<int>(std::clamp(rows, shortest, longest));
}

int steps_per_pass(int asked, std::size_t row_bytes) noexcept
{
  return asked > 0 ? asked : steps_per_pass(row_bytes);
}

}  // namespace torsowave::solver
