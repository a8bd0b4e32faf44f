/// \file
/// \brief What the machine itself can do: bytes and instructions per second.

#pragma once

#include <array>
#include <vector>

#include "bench/machine.hpp"
#include "bench/measure.hpp"

namespace torsowave::bench {

/// Rates of all threads together, vectors as wide as the kernels'.
struct MachineSpeed {
  int threads = 1;
  std::array<Spread, levels.size()>
      update;  ///< at each Level: bytes read plus bytes written, a = a c + d [B/s]
  Spread update_parts;  ///< the same on six arrays side by side in L2 [B/s]
  Spread arithmetic;    ///< multiply-adds and additions, 8 to 6, in registers [vectors/s]
  Spread loads;         ///< from L1, each added to a sum [vectors/s]
  Spread stores;        ///< to L1 [vectors/s]
};

/// One MachineSpeed for each number of threads.
[[nodiscard]] std::vector<MachineSpeed> machine_speed(const Machine& machine,
                                                      const std::vector<int>& threads,
                                                      const Rounds& rounds);

}  // namespace torsowave::bench
