#include "scenarios/random_draws.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <random>
#include <string>
#include <utility>

#include "postproc/link_formulas.hpp"
#include "postproc/sha256.hpp"

namespace torsowave::scenarios {
namespace {

/// P(Z < z) of the standard normal distribution.
double normal_below(double z)
{
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

/// Its inverse.
double normal_quantile(double fraction)
{
  constexpr double least = 1e-15;
  const double tail = std::max(std::min(fraction, 1.0 - fraction), least);
  const double z = postproc::normal_tail_inverse(tail);
  return fraction < 0.5 ? -z : z;
}

/// P(X < x) without truncation.
double below(const Distribution& d, double x)
{
  switch (d.kind) {
    case Distribution::Kind::normal:
      return normal_below((x - d.first) / d.second);
    case Distribution::Kind::lognormal:
      return x > 0.0 ? normal_below(std::log(x / d.first) / d.second) : 0.0;
    case Distribution::Kind::uniform:
      return std::clamp((x - d.first) / (d.second - d.first), 0.0, 1.0);
  }
  return 0.0;
}

double untruncated_at(const Distribution& d, double fraction)
{
  switch (d.kind) {
    case Distribution::Kind::normal:
      return d.first + d.second * normal_quantile(fraction);
    case Distribution::Kind::lognormal:
      return d.first * std::exp(d.second * normal_quantile(fraction));
    case Distribution::Kind::uniform:
      return d.first + (d.second - d.first) * fraction;
  }
  return d.first;
}

std::mt19937_64 generator(std::uint64_t seed, std::string_view name)
{
  constexpr std::size_t digits_of_64_bits = 16;
  const std::string digest = postproc::sha256(fmt::format("{} {}", seed, name));
  return std::mt19937_64(std::stoull(digest.substr(0, digits_of_64_bits), nullptr, 16));
}

/// The upper 53 bits, in the middle of their step: never 0, never 1.
double fraction_of(std::uint64_t bits)
{
  return (static_cast<double>(bits >> 11U) + 0.5) * 0x1p-53;
}

}  // namespace

double probability_within(const Distribution& distribution)
{
  const auto& within = distribution.within;
  return within ? below(distribution, (*within)[1]) - below(distribution, (*within)[0])
                : 1.0;
}

double value_at(const Distribution& distribution, double fraction)
{
  const auto& within = distribution.within;
  if (!within) {
    return untruncated_at(distribution, fraction);
  }
  const double from = below(distribution, (*within)[0]);
  const double value =
      untruncated_at(distribution, from + fraction * probability_within(distribution));
  return std::clamp(value, (*within)[0], (*within)[1]);
}

std::vector<double> independent_fractions(std::uint64_t seed, std::string_view name,
                                          std::size_t count)
{
  std::mt19937_64 random = generator(seed, name);
  std::vector<double> fractions(count);
  for (double& fraction : fractions) {
    fraction = fraction_of(random());
  }
  return fractions;
}

std::vector<double> stratified_fractions(std::uint64_t seed, std::string_view name,
                                         std::size_t count)
{
  std::mt19937_64 random = generator(seed, name);
  std::vector<double> fractions(count);
  for (std::size_t k = 0; k < count; ++k) {
    fractions[k] =
        (static_cast<double>(k) + fraction_of(random())) / static_cast<double>(count);
  }
  // Shuffled from the end (R. A. Fisher, F. Yates; D. E. Knuth, The Art of Computer
  // Programming 2, algorithm 3.4.2P, from memory).
  for (std::size_t left = count; left > 1; --left) {
    const auto other = std::min(
        static_cast<std::size_t>(fraction_of(random()) * static_cast<double>(left)),
        left - 1);
    std::swap(fractions[left - 1], fractions[other]);
  }
  return fractions;
}

}  // namespace torsowave::scenarios
