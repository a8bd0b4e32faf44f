/// \file
/// \brief The loops that machine_speed() times; compiled for this very processor.

#pragma once

#include <cstddef>

namespace torsowave::bench {

/// Loops on vectors of `lanes` floats. All repeat `times` over.
struct VectorLoops {
  int lanes;
  /// a = a c + d over `count` floats, in place.
  void (*update)(float* a, std::size_t count, long times);
  /// The same on the `side_by_side` equal parts of the array at once, as a time step
  /// reads and writes its fields; `count` is that many times an odd number of 16 floats.
  void (*update_parts)(float* a, std::size_t count, long times);
  /// Arithmetic in registers: `arithmetic_in_loop` instructions each time, on eight
  /// values that differ, the first two a factor and an addend.
  void (*arithmetic)(float* values, long times);
  /// Loads of `count` floats, each added to one of eight sums.
  void (*loads)(float* a, std::size_t count, long times);
  /// Stores to `count` floats.
  void (*stores)(float* a, std::size_t count, long times);
};

/// Ez, Hx, Hy and three relaxations.
inline constexpr std::size_t side_by_side = 6;

/// Eight independent chains of multiply-adds and six of additions: near the mix of the
/// kernels, and as many as sixteen registers hold.
inline constexpr int multiply_adds_in_loop = 8;
inline constexpr int additions_in_loop = 6;
inline constexpr int arithmetic_in_loop = multiply_adds_in_loop + additions_in_loop;

/// \param lanes  4, 8 or 16; arrays are aligned to vectors and whole multiples of eight.
[[nodiscard]] VectorLoops vector_loops(int lanes);

}  // namespace torsowave::bench
