/// \file
/// \brief Whether all that is timed computes the same fields.

#pragma once

#include <string>
#include <vector>

#include "bench/scene.hpp"

namespace torsowave::bench {

/// How far one contender's Ez is from that of the textbook stepper in double.
struct Agreement {
  std::string name;
  double difference = 0.0;  ///< largest |Ez - Ez_ref| over largest |Ez_ref|
};

/// Steps a small scene (mode TMz) with everything that is timed.
[[nodiscard]] std::vector<Agreement> agreement(const Scene& scene, int steps, int threads,
                                               bool with_numpy);

}  // namespace torsowave::bench
