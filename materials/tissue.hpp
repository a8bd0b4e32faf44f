/// \file
/// \brief A named material of a scenario, and the library of named materials.

#pragma once

#include <complex>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "materials/cole_cole.hpp"
#include "materials/debye_medium.hpp"

namespace torsowave::materials {

/// The field cannot enter: E = 0.
struct PerfectConductor {};

/// A named material: library tissue, capsule material or custom medium of a scenario.
struct Tissue {
  std::string name;          ///< key in scenarios, e.g. "skin_dry"
  std::string display_name;  ///< for legends and tables, e.g. "Skin, dry"
  std::variant<ColeCole, DebyeMedium, PerfectConductor> model;
  std::optional<double> density;  ///< [kg/m^3]; empty where no source gives one
  std::string source;             ///< where the parameters come from
  std::string density_source;     ///< where the density comes from; empty without density
  double permittivity_scale = 1.0;  ///< factor of eps' at every frequency [1], > 0
  double conductivity_scale = 1.0;  ///< the same of the conductivity w eps0 eps'' [1]
};

[[nodiscard]] bool is_conductor(const Tissue& tissue) noexcept;

/// Complex relative permittivity [1] at `frequency` [Hz], scaled as the tissue says.
/// \throws std::invalid_argument  Bad frequency, or the material is a perfect conductor.
[[nodiscard]] std::complex<double> relative_permittivity(const Tissue& tissue,
                                                         double frequency);

/// The built-in materials: all tissues sorted by name, then air and capsule materials.
[[nodiscard]] std::span<const Tissue> tissue_library();

/// The library entry with this name, or null.
[[nodiscard]] const Tissue* find_tissue(std::string_view name);

/// The candidate with the least edit distance to `word` (ties: first), empty if none is
/// near (distance above half of the length of `word`, but at least 2).
[[nodiscard]] std::string nearest_name(std::string_view word,
                                       std::span<const std::string> candidates);

}  // namespace torsowave::materials
