/// \file
/// \brief Specific absorption rate (SAR) of one frequency as plain values.
///
/// Planning and teaching estimates, not compliance or clinical results: local codes and
/// licensed practice decide.

#pragma once

#include <algorithm>
#include <optional>
#include <string>

#include "geometry/shape.hpp"

namespace torsowave::postproc {

/// A largest value of a slice, and where.
struct SarSpot {
  double value = 0.0;  ///< unit: \see SarPeaks
  geometry::Point at;  ///< centre of the cell, or of the square [m]
  std::string tissue;  ///< there
  double side = 0.0;   ///< of the square, and of the cube whose section it is [m]
};

/// Largest SAR at a point and over squares that are sections of cubes of 1 g and 10 g;
/// empty where no cell is wholly tissue, or no square holds enough of it.
struct SarPeaks {
  std::optional<SarSpot> local;
  std::optional<SarSpot> one_gram;
  std::optional<SarSpot> ten_gram;
};

/// SAR next to a short dipole in a capsule, by the closed form; per W delivered.
struct CapsuleSar {
  double delivered = 0.0;        ///< [W per (A m)^2]
  double local_end_on = 0.0;     ///< on the capsule, on the dipole's axis [W/kg per W]
  double local_broadside = 0.0;  ///< on the capsule, across the axis [W/kg per W]
  double one_gram = 0.0;         ///< largest average over a cube of 1 g [W/kg per W]
  double one_gram_side = 0.0;    ///< of that cube [m]
  double ten_gram = 0.0;         ///< [W/kg per W]
  double ten_gram_side = 0.0;    ///< [m]
  std::string tissue;            ///< around the capsule, taken as without end

  /// The larger one at a point: end on in the near field, broadside where it radiates.
  [[nodiscard]] double local() const { return std::max(local_end_on, local_broadside); }
};

/// All that is known of one frequency.
struct SarResult {
  /// In the slice [W/kg per W/m of source power]; of a plane wave per incident power
  /// density [W/kg per W/m^2].
  SarPeaks slice;
  /// Of an implant in a capsule, in three dimensions [W/kg per W delivered].
  std::optional<CapsuleSar> capsule;
  /// The same further away than `away_from`, carried over from the slice: an estimate.
  std::optional<SarPeaks> away;
  double away_from = 0.0;  ///< distance from the implant [m]
};

}  // namespace torsowave::postproc
