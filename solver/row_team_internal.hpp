/// \file
/// \brief Threads that own bands of rows.

#pragma once

#include <functional>

#include <omp.h>

#if defined(__SSE2__)
#include <xmmintrin.h>
#endif

namespace torsowave::solver {

/// Fields ring down towards zero; denormal numbers would make the end of a run crawl.
class FlushDenormals {
public:
#if defined(__SSE2__)
  FlushDenormals() : before_(_mm_getcsr())
  {
    _mm_setcsr(before_ | 0x8040U);
  }
  ~FlushDenormals()
  {
    _mm_setcsr(before_);
  }

private:
  unsigned before_;
#else
  FlushDenormals() = default;
#endif

public:
  FlushDenormals(const FlushDenormals&) = delete;
  FlushDenormals& operator=(const FlushDenormals&) = delete;
};

struct Band {
  int begin = 0;
  int end = 0;
};

[[nodiscard]] inline Band band_of(int thread, int threads, int rows)
{
  const auto cut = [&](int t) {
    return static_cast<int>(static_cast<long>(rows) * t / threads);
  };
  return {cut(thread), cut(thread + 1)};
}

/// Calls `body` for bands of rows, one for each of `threads`, at the same time.
inline void for_bands(int threads, int rows, const std::function<void(int, int)>& body)
{
#pragma omp parallel num_threads(threads)
  {
    const FlushDenormals flush;
    // A smaller team than asked for still covers every band.
    for (int t = omp_get_thread_num(); t < threads; t += omp_get_num_threads()) {
      const Band band = band_of(t, threads, rows);
      body(band.begin, band.end);
    }
  }
}

}  // namespace torsowave::solver
