#include "bench/vector_loops.hpp"

#include <array>

namespace torsowave::bench {
namespace {

template <int lanes>
struct Vector {
  using Type __attribute__((vector_size(lanes * sizeof(float)))) = float;
};

template <int lanes>
using VectorOf = typename Vector<lanes>::Type;

/// Makes the compiler believe that memory has been read and written.
inline void touch_memory()
{
  asm volatile("" ::: "memory");
}

template <int lanes>
void update(float* a, std::size_t count, long times)
{
  auto* const v = reinterpret_cast<VectorOf<lanes>*>(a);
  const VectorOf<lanes> c = VectorOf<lanes>{} + 0.999F;
  const VectorOf<lanes> d = VectorOf<lanes>{} + 0.001F;
  for (long n = 0; n < times; ++n) {
    for (std::size_t p = 0; p < count / lanes; ++p) {
      v[p] = v[p] * c + d;
    }
    touch_memory();
  }
}

template <int lanes>
void update_parts(float* a, std::size_t count, long times)
{
  auto* const v = reinterpret_cast<VectorOf<lanes>*>(a);
  const VectorOf<lanes> c = VectorOf<lanes>{} + 0.999F;
  const VectorOf<lanes> d = VectorOf<lanes>{} + 0.001F;
  const std::size_t part = count / lanes / side_by_side;
  for (long n = 0; n < times; ++n) {
    for (std::size_t p = 0; p < part; ++p) {
#pragma GCC unroll 6
      for (std::size_t k = 0; k < side_by_side; ++k) {
        v[k * part + p] = v[k * part + p] * c + d;
      }
    }
    touch_memory();
  }
}

template <int lanes>
void arithmetic(float* values, long times)
{
  // Chains that differ, or the compiler would compute one of them alone.
  std::array<VectorOf<lanes>, multiply_adds_in_loop> f;
  std::array<VectorOf<lanes>, additions_in_loop> g;
  const VectorOf<lanes> c = VectorOf<lanes>{} + values[0];
  const VectorOf<lanes> d = VectorOf<lanes>{} + values[1];
  for (std::size_t k = 0; k < f.size(); ++k) {
    f[k] = VectorOf<lanes>{} + values[k];
  }
  for (std::size_t k = 0; k < g.size(); ++k) {
    g[k] = VectorOf<lanes>{} + values[k];
  }
  for (long n = 0; n < times; ++n) {
#pragma GCC unroll 8
    for (auto& sum : f) {
      sum = sum * c + d;
    }
#pragma GCC unroll 8
    for (auto& sum : g) {
      sum += d;
    }
  }
  for (const auto& sum : f) {
    values[2] += sum[0];
  }
  for (const auto& sum : g) {
    values[3] += sum[0];
  }
}

template <int lanes>
void loads(float* a, std::size_t count, long times)
{
  const auto* const v = reinterpret_cast<const VectorOf<lanes>*>(a);
  std::array<VectorOf<lanes>, 8> sums{};
  for (long n = 0; n < times; ++n) {
    for (std::size_t p = 0; p < count / lanes; p += 8) {
#pragma GCC unroll 8
      for (std::size_t k = 0; k < 8; ++k) {
        sums[k] += v[p + k];
      }
    }
    touch_memory();
  }
  for (const auto& sum : sums) {
    a[0] += sum[0];
  }
}

template <int lanes>
void stores(float* a, std::size_t count, long times)
{
  auto* const v = reinterpret_cast<VectorOf<lanes>*>(a);
  const VectorOf<lanes> value = VectorOf<lanes>{} + 0.999F;
  for (long n = 0; n < times; ++n) {
    for (std::size_t p = 0; p < count / lanes; p += 8) {
#pragma GCC unroll 8
      for (std::size_t k = 0; k < 8; ++k) {
        v[p + k] = value;
      }
    }
    touch_memory();
  }
}

template <int lanes>
constexpr VectorLoops loops_of()
{
  return {lanes,        update<lanes>, update_parts<lanes>, arithmetic<lanes>,
          loads<lanes>, stores<lanes>};
}

}  // namespace

VectorLoops vector_loops(int lanes)
{
  return lanes >= 16 ? loops_of<16>() : lanes >= 8 ? loops_of<8>() : loops_of<4>();
}

}  // namespace torsowave::bench
