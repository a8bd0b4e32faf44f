/// \file
/// \brief What a layered cylinder and its source must be.

#pragma once

#include "solver/layered_cylinder.hpp"

namespace torsowave::solver::cylinder {

/// \throws std::invalid_argument  Radii that do not rise, a medium with gain or eps_r =
/// 0.
void require_sound(const Body& body);

/// \throws std::invalid_argument  A source on an interface or in the conductor, a dipole
/// in
///         TMz, or what is not finite.
void require_source(const Body& body, Polarisation polarisation, const Source& source);

}  // namespace torsowave::solver::cylinder
