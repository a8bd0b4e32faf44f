/// \file
/// \brief How far a thread has come, for others to wait for.

#pragma once

#include <atomic>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

namespace torsowave::solver {

/// A count that one thread raises. Waiting spins for some microseconds, the usual length
/// of a wait, and then sleeps: a machine with other work to do loses nothing.
class alignas(64) Milestone {
public:
  void reach(long value) noexcept
  {
    value_.store(value, std::memory_order_release);
    value_.notify_all();
  }

  void wait_for(long value) const noexcept
  {
    constexpr int spins = 4000;
    for (int n = 0; n < spins; ++n) {
      if (value_.load(std::memory_order_acquire) >= value) {
        return;
      }
      pause();
    }
    for (long now = value_.load(std::memory_order_acquire); now < value;
         now = value_.load(std::memory_order_acquire)) {
      value_.wait(now, std::memory_order_acquire);
    }
  }

private:
  static void pause() noexcept
  {
#if defined(__SSE2__)
    _mm_pause();
#endif
  }

  std::atomic<long> value_{0};
};

}  // namespace torsowave::solver
