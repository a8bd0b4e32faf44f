/// \file
/// \brief Constants of electromagnetics and the time convention of the whole project.
///
/// Phasors vary as \f$e^{+j\omega t}\f$, so \f$\varepsilon_r = \varepsilon' -
/// j\varepsilon''\f$ and a passive medium has \f$\operatorname{Im}\varepsilon_r \le 0\f$.
/// Phasors are peak values. SI units throughout; the unit of each quantity stands in
/// square brackets.

#pragma once

#include <numbers>

namespace torsowave::materials {

inline constexpr double two_pi = 2.0 * std::numbers::pi;

/// Speed of light in vacuum [m/s], exact (SI, 2019).
inline constexpr double speed_of_light = 299'792'458.0;

/// Vacuum permittivity [F/m]: CODATA 2018, Tiesinga et al., Rev. Mod. Phys. 93 (2021)
/// 025010.
inline constexpr double vacuum_permittivity = 8.8541878128e-12;

/// Vacuum permeability [H/m], from the two above so that c^2 eps0 mu0 = 1 to rounding.
inline constexpr double vacuum_permeability =
    1.0 / (vacuum_permittivity * speed_of_light * speed_of_light);

/// Wave impedance of vacuum [ohm].
inline constexpr double vacuum_impedance = vacuum_permeability * speed_of_light;

}  // namespace torsowave::materials
