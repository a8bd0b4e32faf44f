/// \file
/// \brief A vector of neighbouring numbers, of the width that the file is compiled for.
///
/// Included by the sweep bodies, once for each instruction set; internal linkage. Where a
/// product is fused with a sum is part of the arithmetic: mul_add() fuses where the
/// processor can, on packs and on single numbers alike, and nothing else does (the files
/// are compiled without contraction). So a number comes out the same from every loop.

#pragma once

#include <immintrin.h>

#include <cstddef>
#include <utility>

namespace torsowave::solver::kernels {
namespace {

/// a b + c.
inline float mul_add(float a, float b, float c)
{
#if defined(__FMA__)
  return __builtin_fmaf(a, b, c);
#else
  return a * b + c;
#endif
}

inline double mul_add(double a, double b, double c)
{
#if defined(__FMA__)
  return __builtin_fma(a, b, c);
#else
  return a * b + c;
#endif
}

#if defined(__AVX512F__)
constexpr std::size_t pack_bytes = 64;
#elif defined(__AVX2__)
constexpr std::size_t pack_bytes = 32;
#else
constexpr std::size_t pack_bytes = 16;
#endif

/// The compiler's own vector type: + - * work lane by lane.
template <class Real>
struct PackOf {
  using type __attribute__((vector_size(pack_bytes), may_alias)) = Real;
};
template <class Real>
using Pack = typename PackOf<Real>::type;

template <class Real>
constexpr std::ptrdiff_t lanes_of = static_cast<std::ptrdiff_t>(pack_bytes /
                                                                sizeof(Real));

/// `at` is aligned to a pack.
template <class Real>
Pack<Real> load(const Real* at)
{
  return *reinterpret_cast<const Pack<Real>*>(at);
}

template <class Real>
void store(Real* at, Pack<Real> value)
{
  *reinterpret_cast<Pack<Real>*>(at) = value;
}

/// `at` is aligned to a number.
template <class Real>
Pack<Real> load_anywhere(const Real* at)
{
  Pack<Real> value;
  __builtin_memcpy(&value, at, pack_bytes);
  return value;
}

template <class Real>
void store_anywhere(Real* at, Pack<Real> value)
{
  __builtin_memcpy(at, &value, pack_bytes);
}

template <class Real>
Pack<Real> all(Real value)
{
  return value - Pack<Real>{};
}

inline Pack<float> mul_add(Pack<float> a, Pack<float> b, Pack<float> c)
{
#if defined(__AVX512F__)
  return _mm512_fmadd_ps(a, b, c);
#elif defined(__FMA__)
  return _mm256_fmadd_ps(a, b, c);
#else
  return a * b + c;
#endif
}

inline Pack<double> mul_add(Pack<double> a, Pack<double> b, Pack<double> c)
{
#if defined(__AVX512F__)
  return _mm512_fmadd_pd(a, b, c);
#elif defined(__FMA__)
  return _mm256_fmadd_pd(a, b, c);
#else
  return a * b + c;
#endif
}

/// The lanes Offset, Offset + 1, ... of two packs in a row.
template <class Real, int Offset, std::size_t... Lane>
Pack<Real> window(Pack<Real> first, Pack<Real> second, std::index_sequence<Lane...>)
{
  return __builtin_shufflevector(first, second, (Offset + static_cast<int>(Lane))...);
}

/// The last lane of `before`, then all but the last of `here`.
template <class Real>
Pack<Real> left_of(Pack<Real> before, Pack<Real> here)
{
  constexpr int lanes = static_cast<int>(lanes_of<Real>);
  return window<Real, lanes - 1>(before, here, std::make_index_sequence<lanes>());
}

/// All but the first lane of `here`, then the first of `after`.
template <class Real>
Pack<Real> right_of(Pack<Real> here, Pack<Real> after)
{
  constexpr int lanes = static_cast<int>(lanes_of<Real>);
  return window<Real, 1>(here, after, std::make_index_sequence<lanes>());
}

}  // namespace
}  // namespace torsowave::solver::kernels
