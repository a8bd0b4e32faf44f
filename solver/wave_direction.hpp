/// \file
/// \brief Directions in which a plane wave fits the grid exactly.

#pragma once

#include <numbers>

namespace torsowave::solver {

/// Direction of travel (x, y)/|(x, y)| with whole, coprime x and y.
///
/// A plane wave in such a direction depends on the cell (i, j) through i x + j y alone: a
/// whole number. \see J. B. Schneider, *Plane waves in FDTD simulations and a nearly
/// perfect total-field/scattered-field boundary*, IEEE Trans. Antennas Propag. 52 (2004)
/// 3280-3287; T. Tan, M. Potter, *1-D multipoint auxiliary source propagator for the
/// total-field/scattered-field FDTD formulation*, IEEE Antennas Wirel. Propag. Lett. 6
/// (2007) 144-148 (rational angles; both from memory).
struct WaveDirection {
  int x = 1;
  int y = 0;

  [[nodiscard]] double angle() const noexcept;   ///< counter-clockwise from +x [rad]
  [[nodiscard]] double length() const noexcept;  ///< |(x, y)|
  [[nodiscard]] int major() const noexcept;      ///< max(|x|, |y|)
  [[nodiscard]] bool on_axis() const noexcept { return x == 0 || y == 0; }
};

/// How far a direction may be from the one wanted, and how large its numbers may become:
/// the cost of a wave grows with them.
struct DirectionLimits {
  double tolerance = 0.1 * std::numbers::pi / 180.0;  ///< [rad]
  int largest = 60;
};

/// The direction with the smallest max(|x|, |y|) that is within the tolerance, or the
/// nearest one if none is. With the default limits it is off by at most 0.1 deg for 96 %
/// of all angles and by less than 0.25 deg for the rest (beside simple ratios), but
/// within 1 deg of an axis by at most 0.48 deg: 60 steps by 1 lie 0.95 deg from the axis.
/// \param angle  [rad]
/// \throws std::invalid_argument  The angle is not finite.
[[nodiscard]] WaveDirection nearest_direction(double angle,
                                              const DirectionLimits& limits = {});

}  // namespace torsowave::solver
