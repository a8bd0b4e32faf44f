/// \file
/// \brief The same case by full wave and exactly: gathers what `torsowave compare` shows.

#pragma once

#include "app/concentric_body.hpp"
#include "app/run_plan.hpp"
#include "postproc/compare_result.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// The scenario with no other output than what a comparison reads.
[[nodiscard]] scenarios::Scenario scenario_to_compare(scenarios::Scenario scenario);

/// Title, grid, run and what else does not depend on the kind of body.
[[nodiscard]] postproc::CompareResult describe_comparison(const RunPlan& plan,
                                                          const postproc::Result& run);

/// Mode 1D: reflection, transmission and absorption by layer under a plane wave, shares
/// of the incident power at the face met first; or the powers of a current sheet.
/// Four models: Cole-Cole, fitted Debye media, those as stepped on the grid, the run.
[[nodiscard]] postproc::CompareResult compare_layers(const RunPlan& plan,
                                                     const postproc::Result& run);

/// Radius of the circle that fields are compared on: in the background half way between
/// the body and the contour that powers are counted on [m].
/// \throws scenarios::InputError  There is no room between them.
[[nodiscard]] double compared_radius(const RunPlan& plan, const ConcentricBody& body);

/// Modes TMz and TEz, concentric circles: the field on a circle around the body, and
/// powers. Three models: Cole-Cole, fitted Debye media, the run.
///
/// At each angle the cell that holds the point is looked at, and the series is evaluated
/// at that cell's centre, so that nothing is interpolated.
/// \param run  with the centre field among its phasors
/// \throws scenarios::InputError  \see compared_radius()
[[nodiscard]] postproc::CompareResult compare_cylinders(const RunPlan& plan,
                                                        const ConcentricBody& body,
                                                        const postproc::Result& run);

}  // namespace torsowave::app
