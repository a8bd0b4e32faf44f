/// \file
/// \brief What the layers of a 1-D plan do on its grid, exactly: no run, no absorber.

#pragma once

#include "app/run_plan.hpp"
#include "postproc/slab_result.hpp"

namespace torsowave::app {

/// The answer of the scheme's own equations (solver/grid_layers.hpp) for the media as
/// stepped, with the reference planes of the run: reflection at the face that the wave
/// meets first, powers through the true faces. `transmission` is left out.
/// \param plan  of mode 1D
[[nodiscard]] postproc::SlabCase grid_case(const RunPlan& plan, double frequency);

}  // namespace torsowave::app
