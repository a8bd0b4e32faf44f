/// \file
/// \brief The permittivities of a plan's tissues as one or the other model has them.

#pragma once

#include <complex>
#include <vector>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// Relative permittivity by tissue of a plan [1]; 1 for conductors, where it is unused.
using Permittivities = std::vector<std::complex<double>>;

/// The tissues' own models: Cole-Cole, or what the scenario says.
[[nodiscard]] Permittivities own_media(const RunPlan& plan, double frequency);

/// The fit on shared relaxation times.
[[nodiscard]] Permittivities fitted_media(const RunPlan& plan, double frequency);

/// Discrete permittivity of what is stepped.
[[nodiscard]] Permittivities stepped_media(const RunPlan& plan, double frequency);

/// Discrete permittivity with which a row of cells carries the wave of `eps` exactly.
[[nodiscard]] Permittivities exact_on_row(const RunPlan& plan, const Permittivities& eps,
                                          double frequency);

}  // namespace torsowave::app
