/// \file
/// \brief The gain of a run's implant in three dimensions. \see
/// postproc/antenna_gain.hpp
///
/// That needs one permittivity around the capsule, and the slice may have several
/// tissues there. What the dipole delivers is heat of its near field before all, |E|^2
/// ~ (1 + 3 cos^2 t)/r^6 with t from its axis (static dipole: J. D. Jackson, *Classical
/// Electrodynamics*, sec. 4.1, from memory). A tissue that goes on along z at the
/// distance rho from the source and the direction phi gets, r^2 = rho^2 + z^2,
///   int (1 + 3 cos^2 t)/r^6 dz = (9 pi/16) rho^-5                         dipole along z
///                              = (3 pi/8) (1 + (5/2) cos^2 phi) rho^-5    in the plane
/// (phi from the dipole; derived here). With these weights the permittivities of the
/// slice beyond the capsule are averaged.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "app/run_plan.hpp"
#include "postproc/result.hpp"
#include "solver/capsule_dipole.hpp"

namespace torsowave::app {

/// How a result's note of a missing gain begins.
inline constexpr std::string_view no_gain_note = "no gain in three dimensions: ";

/// What stands in the way of a gain, and of links with it.
struct GainObstacle {
  std::string key;      ///< of the scenario
  std::string problem;  ///< with a remedy
};

/// Nothing if the implant of a plan will have a gain at every frequency.
[[nodiscard]] std::optional<GainObstacle> gain_obstacle(const RunPlan& plan);

/// Adds the implant's gain to every frequency, and what links have to know of the slice,
/// if nothing stands in the way; what is wrong with a capsule becomes a note.
/// \param result  with far fields, powers and uncertainties
void add_antenna_gains(const RunPlan& plan, postproc::Result& result);

/// The capsule of a plan's implant, in the tissue that the near field makes of what is
/// around it.
struct CapsuleInTissue {
  solver::Capsule capsule;
  double density = 0.0;  ///< of that tissue, where it is known [kg/m^3]
  double known = 0.0;    ///< share of it with a known density [1]
  std::string tissue;    ///< "blood 60 %, fat 40 %"
};

/// What stands in the way of the closed form for a short dipole in the plan's capsule.
/// The plan has an implant.
[[nodiscard]] std::optional<std::string> capsule_problem(const RunPlan& plan,
                                                         double frequency);

/// Of a plan without capsule_problem().
[[nodiscard]] CapsuleInTissue capsule_in_tissue(const RunPlan& plan, double frequency);

/// Why the reader of the plan's link cannot be where it is: inside the body of a slice.
[[nodiscard]] std::optional<std::string> reader_problem(const RunPlan& plan);

}  // namespace torsowave::app
