/// \file
/// \brief What a sweep file says of one key: a list, a range or a distribution.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "scenarios/node_edit.hpp"
#include "scenarios/random_draws.hpp"
#include "scenarios/section.hpp"

namespace torsowave::scenarios {

/// A key of the base scenario and the values that it takes.
struct Variation {
  std::string path;
  std::vector<PathStep> steps;
  Mark mark;                    ///< of its values in the sweep file
  std::vector<NodePtr> values;  ///< empty for a distribution
  std::optional<Distribution> distribution;
  std::string unit;  ///< of the distribution's numbers

  /// The value at a fraction of the distribution; of a list, each with equal weight.
  [[nodiscard]] NodePtr draw(double fraction) const;
};

/// Reads `[a, b, c]`, `{from: a, to: b, count: n, spacing: log}` or, for random sweeps,
/// `{normal: [m, s]}`, `{lognormal: [m, s]}`, `{uniform: [a, b]}`, with `within: [a, b]`.
/// Reports what is wrong. \param random  whether distributions are accepted
[[nodiscard]] std::optional<Variation> read_variation(const std::string& path,
                                                      const Value& value, bool random);

/// The values of one key over all cases as numbers, if they are: in their common unit or,
/// where units differ, in SI.
struct Numbers {
  std::vector<double> values;
  std::string unit;  ///< empty: none
};
[[nodiscard]] std::optional<Numbers> as_numbers(const std::vector<NodePtr>& nodes);

}  // namespace torsowave::scenarios
