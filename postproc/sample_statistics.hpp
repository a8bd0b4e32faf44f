/// \file
/// \brief What a sample says of the distribution that it was drawn from.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace torsowave::postproc {

/// The value below which lies a share of a sample, interpolated between the sorted values
/// so that the shares 0 and 1 are its ends (definition 7 of R. J. Hyndman, Y. Fan, The
/// American Statistician 50 (1996) 361-365, from memory).
/// \param sorted  ascending, not empty; \param share  from 0 to 1
/// \throws std::invalid_argument  Empty, or out of that range.
[[nodiscard]] double quantile(std::span<const double> sorted, double share);

/// Mean and standard deviation (n - 1) of a sample, sorted.
struct SampleStatistics {
  std::vector<double> sorted;  ///< the values that are finite
  double mean = 0.0;
  double deviation = 0.0;  ///< 0 for one value
};
/// \throws std::invalid_argument  No finite value.
[[nodiscard]] SampleStatistics sample_statistics(std::span<const double> values);

/// How far two quantities rise together, from -1 to 1: the correlation of their ranks,
/// equal values sharing the mean of theirs (C. Spearman, Am. J. Psychol. 15 (1904)
/// 72-101, from memory). Empty where one of them does not vary. \throws
/// std::invalid_argument  They differ in number, or a value is not finite.
[[nodiscard]] std::optional<double> rank_correlation(std::span<const double> x,
                                                     std::span<const double> y);

/// A share with the interval that holds the probability behind it.
struct Share {
  double share = 0.0;
  double low = 0.0;
  double high = 0.0;
};

/// The share hits/trials with its score interval at 95 % confidence (E. B. Wilson, J. Am.
/// Stat. Assoc. 22 (1927) 209-212, from memory): with z = 1.95996,
/// (p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n).
/// \throws std::invalid_argument  No trial, or more hits than trials.
[[nodiscard]] Share wilson_share(std::size_t hits, std::size_t trials);

}  // namespace torsowave::postproc
