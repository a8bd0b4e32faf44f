/// \file
/// \brief TEz in a round body with a capsule of air in its middle, beside the exact
/// series for the same (fitted) media.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geometry/shape.hpp"
#include "published/full_wave_run.hpp"

namespace torsowave::reference {

struct TezCase {
  std::optional<double> dipole_deg{};  ///< direction of a dipole; empty: a magnetic line
  double capsule_mm = 4.0;
  int cells = 20;  ///< per wavelength in muscle
  std::string averaging = "volume";
  geometry::Point source_mm{2.0, 1.0};
  std::vector<Ring> around{///< around the capsule, innermost first
                           {"muscle", 60.0},
                           {"fat_not_infiltrated", 70.0},
                           {"skin_dry", 72.0}};
};

/// Of Hz at 72 angles, 12 mm outside the body, at 2.45 GHz.
struct TezErrors {
  FieldErrors field;         ///< within 30 dB of the largest
  FieldErrors middle;        ///< within 20 dB
  FieldErrors strong;        ///< within 10 dB
  double radiated_db = 0.0;  ///< power, against the exact one
  SectorErrors sectors;

  [[nodiscard]] std::string text() const;
};

[[nodiscard]] TezErrors errors_of(const TezCase& one);

}  // namespace torsowave::reference
