/// \file
/// \brief What a cell-step costs in bytes and instructions, and how fast the machine
/// could make them.
///
/// Roofline: S. Williams, A. Waterman, D. Patterson, Commun. ACM 52(4) (2009) 65-76: a
/// loop is no faster than its bytes over the bandwidth of the level that they come from,
/// nor than its instructions over the rate at which the cores issue them.

#pragma once

#include <string>

#include "bench/machine_speed.hpp"
#include "bench/scene.hpp"

namespace torsowave::bench {

/// Of one cell-step, the mean over the grid. Instructions are of scalars: divided by the
/// lanes of a vector they are the kernel's.
struct Cost {
  double bytes = 0.0;  ///< read plus written, each array once
  double arithmetic = 0.0;
  double loads = 0.0;
  double stores = 0.0;
};

/// How the product's kernels see the cells (TEz: the edges) of a scene.
struct Shares {
  double plain = 0.0;           ///< in runs of one medium without relaxations
  double uniform = 0.0;         ///< in runs of one medium with them
  double mixed = 0.0;           ///< cell by cell
  double averaged = 0.0;        ///< of all: curls averaged along the row (TEz)
  double mixed_averaged = 0.0;  ///< of these, cell by cell
};

[[nodiscard]] Shares shares_of(const Scene& scene);

/// Cost of the product's stepper in single precision, without absorber, sources and the
/// tensors of TEz; counted from solver/kernels/.
[[nodiscard]] Cost product_cost(const Scene& scene, const Shares& shares);

/// Bytes of the textbook stepper: (12 + 3 K) numbers; Hx and Hy 3 each (two in, one
/// out), Ez 2, both H again, Ca, Cb, and for each relaxation Q in and out and Cq.
[[nodiscard]] double textbook_bytes(int poles, std::size_t bytes_of_number);

/// An upper bound.
struct Ceiling {
  double rate = 0.0;     ///< [cell-steps/s]
  std::string bound_by;  ///< "L2", "memory", ... or "instructions"
};

/// The lower one of two bounds: bytes over the bandwidth of in-place updates at `level`,
/// and instructions over the rates measured, all kinds of them at the same time.
[[nodiscard]] Ceiling ceiling_of(const Cost& cost, int lanes, const MachineSpeed& speed,
                                 Level level);

}  // namespace torsowave::bench
