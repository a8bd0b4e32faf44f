#include <acb_hypgeom.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <utility>

#include "solver/bessel_sequence_internal.hpp"

namespace torsowave::solver {
namespace {

/// Orders from one pair of direct evaluations to the next. In the oscillating range (n <
/// |z|) the bound may widen by the factor 1 + sqrt(2) an order, 41 bits in a block.
constexpr std::size_t block = 32;
/// Evaluates at an exact argument with ever more bits until the result is accurate. What
/// it is short of then shows in its own bound.
template <typename Evaluate>
Ball accurately(long wanted_bits, Evaluate evaluate)
{
  constexpr long guard = 32;
  constexpr int most_tries = 7;
  Ball result = Ball::with_bits(wanted_bits);
  long bits = wanted_bits + guard;
  for (int attempt = 0; attempt < most_tries; ++attempt, bits *= 2) {
    evaluate(result.get(), bits);
    if (result.accurate_bits() >= wanted_bits) {
      break;
    }
  }
  acb_set_round(result.get(), result.get(), wanted_bits);
  return result;
}

Ball bessel_j_at(std::size_t n, const Ball& exact)
{
  const Ball order(static_cast<double>(n), exact.bits());
  return accurately(exact.bits(), [&](acb_ptr result, long bits) {
    acb_hypgeom_bessel_j(result, order.get(), exact.get(), bits);
  });
}

/// H_n^(2)(z) = (2j/pi) j^n K_n(jz) (DLMF 10.27.8): no difference of large numbers where
/// H is small.
Ball hankel2_at(std::size_t n, const Ball& exact)
{
  const Ball order(static_cast<double>(n), exact.bits());
  const Ball rotated = turned(exact, 1);
  const Ball k = accurately(exact.bits(), [&](acb_ptr result, long bits) {
    acb_hypgeom_bessel_k(result, order.get(), rotated.get(), bits);
  });
  return turned(2 * k / pi(exact.bits()), static_cast<long>(n) + 1);
}

/// Widens C_n, known at the middle m of the argument z, to all of z.
///
/// With r the radius of z, |C_n(z) - C_n(m)| <= r M for M = sup |C_n'|. Bessel's equation
/// (DLMF 10.2.1) bounds |C_n''| by M/|z| + c sup |C_n|, c = 1 + n^2/|z|^2, so that M <=
/// |C_n'(m)| + r (M/|z| + c |C_n(m)| + c r M), hence M <= 2 (|C_n'(m)| + c r |C_n(m)|)
/// where r/|z| + c r^2 <= 1/2. (Ball arithmetic alone would widen by exp(2 |z|).)
void widen_to_argument(Ball& value, const Ball& slope, std::size_t n, const Ball& z)
{
  const double radius = z.log2_error();
  const double least = z.log2_least();
  const double c =
      1.0 + std::max(0.0, 2.0 * (std::log2(static_cast<double>(n) + 1.0) - least));
  if (!(std::max(radius - least, 2.0 * radius + c) <= -2.0)) {
    value.widen_without_bound();
    return;
  }
  const double steepest =
      2.0 + std::max(slope.log2_size(), c + radius + value.log2_size());
  value.widen(radius + steepest);
}

/// C_n and C_(n+1) at z.
template <typename Evaluate>
std::array<Ball, 2> seeds(std::size_t n, const Ball& z, Evaluate evaluate)
{
  const Ball middle = z.exact_middle();
  std::array<Ball, 2> pair{evaluate(n, middle), evaluate(n + 1, middle)};
  // DLMF 10.6.2
  const auto order = static_cast<long>(n);
  const std::array<Ball, 2> slopes{order * pair[0] / middle - pair[1],
                                   pair[0] - (order + 1) * pair[1] / middle};
  for (std::size_t i = 0; i < pair.size(); ++i) {
    widen_to_argument(pair.at(i), slopes.at(i), n + i, z);
  }
  return pair;
}

/// C_(-n) = (-1)^n C_n for integer n (DLMF 10.4.1, 10.4.2).
Ball with_sign(long n, const Ball& value)
{
  return n < 0 && n % 2 != 0 ? -value : value;
}

}  // namespace

BesselSequence::BesselSequence(Ball z)
    : z_(std::move(z)),
      twice_inverse_(Ball(2.0, z_.bits()) / z_),
      wronskian_(turned(twice_inverse_ / pi(z_.bits()), 1))
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
  auto [below, above] = seeds(end - 1, z_, bessel_j_at);
  j_[end - 1] = std::move(below);
  for (std::size_t n = end - 1; n > first; --n) {
    j_[n - 1] = static_cast<long>(n) * twice_inverse_ * j_[n] - above;
    above = j_[n];
  }
}

void BesselSequence::extend_h()
{
  const std::size_t n = h_.size();
  const auto order = static_cast<long>(n);
  if (n > 0 && static_cast<double>(n) > std::exp2(z_.log2_size())) {
    h_.push_back((j(order) * h_[n - 1] + wronskian_) / j(order - 1));
  } else if (n == 0 || n >= last_seed_of_h_ + block) {
    last_seed_of_h_ = n;
    auto [first, second] = seeds(n, z_, hankel2_at);
    h_.push_back(std::move(first));
    h_.push_back(std::move(second));
  } else {
    h_.push_back((order - 1) * twice_inverse_ * h_[n - 1] - h_[n - 2]);
  }
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
