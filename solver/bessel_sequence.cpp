#include <acb_hypgeom.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "solver/bessel_sequence_internal.hpp"

namespace torsowave::solver {
namespace {

/// Orders from one pair of direct evaluations to the next. In the oscillating range (n <
/// |z|) the bound may widen by the factor 1 + sqrt(2) an order, 41 bits in a block.
constexpr std::size_t block = 32;
/// Of H above |z|, where it grows: the turning of rectangular bounds costs a third of a
/// bit an order.
constexpr std::size_t growing_block = 96;

/// Evaluates with ever more bits until the result is nearly as accurate as the argument
/// allows. What it is short of then shows in its own bound.
template <typename Evaluate>
Ball accurately(const Ball& z, Evaluate evaluate)
{
  constexpr long guard = 32;
  constexpr int most_tries = 5;
  Ball result;
  long bits = z.bits() + guard;
  for (int attempt = 0; attempt < most_tries; ++attempt, bits *= 2) {
    result = Ball::with_bits(z.bits());
    evaluate(result.get(), bits);
    if (result.accurate_bits() >= z.bits() - guard) {
      break;
    }
  }
  acb_set_round(result.get(), result.get(), z.bits());
  return result;
}

Ball bessel_j_at(std::size_t n, const Ball& z)
{
  const Ball order(static_cast<double>(n), z.bits());
  return accurately(z, [&](acb_ptr result, long bits) {
    acb_hypgeom_bessel_j(result, order.get(), z.get(), bits);
  });
}

/// H_n^(2)(z) = (2j/pi) j^n K_n(jz) (DLMF 10.27.8): no difference of large numbers where
/// H is small.
Ball hankel2_at(std::size_t n, const Ball& z)
{
  const Ball order(static_cast<double>(n), z.bits());
  const Ball rotated = turned(z, 1);
  const Ball k = accurately(z, [&](acb_ptr result, long bits) {
    acb_hypgeom_bessel_k(result, order.get(), rotated.get(), bits);
  });
  return turned(2 * k / pi(z.bits()), static_cast<long>(n) + 1);
}

/// C_(-n) = (-1)^n C_n for integer n (DLMF 10.4.1, 10.4.2).
Ball with_sign(long n, const Ball& value)
{
  return n < 0 && n % 2 != 0 ? -value : value;
}

}  // namespace

BesselSequence::BesselSequence(Ball z)
    : z_(std::move(z)), twice_inverse_(Ball(2.0, z_.bits()) / z_)
{
}

void BesselSequence::extend_j()
{
  const std::size_t first = j_.size();
  const std::size_t end = first + block;
  j_.resize(end);
  if (z_.is_exact_zero()) {  // J_0 = 1, all others 0
    for (std::size_t n = first; n < end; ++n) {
      j_[n] = Ball(n == 0 ? 1.0 : 0.0, z_.bits());
    }
    return;
  }
  Ball above = bessel_j_at(end, z_);
  j_[end - 1] = bessel_j_at(end - 1, z_);
  for (std::size_t n = end - 1; n > first; --n) {
    j_[n - 1] = static_cast<long>(n) * twice_inverse_ * j_[n] - above;
    above = j_[n];
  }
}

void BesselSequence::extend_h()
{
  const std::size_t n = h_.size();
  const bool grows = static_cast<double>(n) > std::exp2(z_.log2_size());
  if (n == 0 || n >= last_seed_of_h_ + (grows ? growing_block : block)) {
    last_seed_of_h_ = n;
    h_.push_back(hankel2_at(n, z_));
    h_.push_back(hankel2_at(n + 1, z_));
    return;
  }
  h_.push_back(static_cast<long>(n - 1) * twice_inverse_ * h_[n - 1] - h_[n - 2]);
}

Ball BesselSequence::j(long n)
{
  const auto order = static_cast<std::size_t>(std::abs(n));
  while (j_.size() <= order) {
    extend_j();
  }
  return with_sign(n, j_[order]);
}

Ball BesselSequence::h(long n)
{
  const auto order = static_cast<std::size_t>(std::abs(n));
  while (h_.size() <= order) {
    extend_h();
  }
  return with_sign(n, h_[order]);
}

// C_n' = (C_(n-1) - C_(n+1))/2 (DLMF 10.6.1)
Ball BesselSequence::j_slope(long n)
{
  return (j(n - 1) - j(n + 1)) / Ball(2.0, z_.bits());
}

Ball BesselSequence::h_slope(long n)
{
  return (h(n - 1) - h(n + 1)) / Ball(2.0, z_.bits());
}

}  // namespace torsowave::solver
