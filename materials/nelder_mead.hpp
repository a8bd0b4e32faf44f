/// \file
/// \brief Minimisation without derivatives in a few variables (private).

#pragma once

#include <functional>
#include <span>
#include <vector>

namespace torsowave::materials {

/// Where a search ended.
struct Minimum {
  std::vector<double> point;
  double value = 0.0;
};

/// How long a search goes on.
struct SearchLimits {
  double step = 0.3;        ///< size of the first simplex
  double tolerance = 1e-3;  ///< stop when the simplex is this small
  int evaluations = 200;    ///< or after this many
};

/// Nelder and Mead's simplex search from `start`; deterministic, a local minimum.
/// \see J. A. Nelder, R. Mead, Computer Journal 7 (1965) 308-313.
[[nodiscard]] Minimum nelder_mead(
    const std::function<double(std::span<const double>)>& function,
    std::span<const double> start, const SearchLimits& limits);

}  // namespace torsowave::materials
