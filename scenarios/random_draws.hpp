/// \file
/// \brief Random numbers that are the same on every machine: a generator that the
/// standard fixes, and distributions of our own by their inverse.

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace torsowave::scenarios {

/// How a value is spread.
struct Distribution {
  enum class Kind {
    normal,     ///< first: mean, second: standard deviation
    lognormal,  ///< first: median, second: standard deviation of the natural logarithm
    uniform     ///< from first to second
  };
  Kind kind = Kind::uniform;
  double first = 0.0;
  double second = 1.0;
  std::optional<std::array<double, 2>> within;  ///< truncated: no value outside
};

/// Probability that lies inside `within`; 1 without.
[[nodiscard]] double probability_within(const Distribution& distribution);

/// The value below which lies the share `fraction` of the (truncated) distribution: its
/// inverse distribution function. \param fraction  greater than 0 and less than 1
/// \see L. Devroye, Non-Uniform Random Variate Generation, 1986, chapter II.2 (inversion;
/// from memory).
[[nodiscard]] double value_at(const Distribution& distribution, double fraction);

/// `count` independent fractions, greater than 0 and less than 1. The stream depends on
/// seed and name alone: the first values stay when the count grows or another name joins.
/// Generator: std::mt19937_64, of which the C++ standard fixes every value.
[[nodiscard]] std::vector<double> independent_fractions(std::uint64_t seed,
                                                        std::string_view name,
                                                        std::size_t count);

/// The same with one value in each of `count` equal strata, in random order: Latin
/// hypercube sampling where several names are drawn. \see M. D. McKay, R. J. Beckman, W.
/// J. Conover, Technometrics 21 (1979) 239-245 (from memory).
[[nodiscard]] std::vector<double> stratified_fractions(std::uint64_t seed,
                                                       std::string_view name,
                                                       std::size_t count);

}  // namespace torsowave::scenarios
