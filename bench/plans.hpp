/// \file
/// \brief Which scenes are measured.

#pragma once

#include <vector>

#include "bench/scene.hpp"
#include "bench/suite.hpp"

namespace torsowave::bench {

/// A scene to be measured.
struct Plan {
  scenarios::Mode mode = scenarios::Mode::tmz;
  GridSize size;
  int poles = 3;
};

[[nodiscard]] std::vector<Plan> plans_for(const SuiteOptions& options);

/// 1 and the number asked for; if quick, that alone.
[[nodiscard]] std::vector<int> thread_counts(const SuiteOptions& options);

/// Bytes of all steppers of a plan at once, the script's included.
[[nodiscard]] double memory_of(const Plan& plan);

}  // namespace torsowave::bench
