/// \file
/// \brief Where contours, the rim of a plane wave and probes lie in a planned grid.

#pragma once

#include <string>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Finds body and surface, and places everything that needs the filled grid.
/// \throws scenarios::InputError  Something does not fit; the message names the key.
void place_all(RunPlan& plan);

/// \throws scenarios::InputError  always: `key` of the scenario has a problem.
[[noreturn]] void refuse_key(const scenarios::Scenario& scenario, const std::string& key,
                             const std::string& problem);

/// The tissue of a name that the scenario's reader has checked.
[[nodiscard]] const materials::Tissue& tissue_named(const scenarios::Scenario& scenario,
                                                    const std::string& name);

}  // namespace torsowave::app
