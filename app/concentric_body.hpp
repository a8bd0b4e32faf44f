/// \file
/// \brief A slice that is nothing but concentric circles: the one that has an exact
/// answer.

#pragma once

#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "scenarios/scenario.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::app {

/// One ring, from the ring before it (or the centre) outward.
struct TissueRing {
  std::string tissue;
  double outer_radius = 0.0;  ///< [m]
};

struct ConcentricBody {
  geometry::Point centre;         ///< [m]
  std::vector<TissueRing> rings;  ///< innermost first; neighbours differ in tissue

  [[nodiscard]] double radius() const { return rings.back().outer_radius; }
};

/// What is left to see of the shapes of a scenario, the capsule painted last.
/// \throws scenarios::InputError  The mode is 1D, a shape is no circle (or ellipse of
/// equal
///         semi-axes, or shell), the centres differ, a conductor is not the innermost
///         ring, the source lies on an interface.
[[nodiscard]] ConcentricBody concentric_body(const scenarios::Scenario& scenario);

/// Which permittivity the exact answer takes.
enum class RingMedia {
  own,    ///< the tissues' own model
  fitted  ///< the Debye media of the plan
};

/// The exact answer to a plan's scenario at one frequency.
[[nodiscard]] solver::cylinder::Solution exact_cylinder(const RunPlan& plan,
                                                        const ConcentricBody& body,
                                                        RingMedia media,
                                                        double frequency);

}  // namespace torsowave::app
