/// \file
/// \brief Grid errors that a source and its capsule bring. \see error_estimate.hpp

#pragma once

#include <complex>
#include <optional>

#include "app/run_plan.hpp"

namespace torsowave::app {

/// How far the cells displace a face between media, in cells.
[[nodiscard]] double face_displacement(const RunPlan& plan);

/// Power of something of size `radius` [m] that is displaced by `displacement` [m] at its
/// rim, at most as the fourth power of its size [dB].
[[nodiscard]] double scaling_db(double displacement, double radius);

/// Of the capsule about a source; 0 without one.
[[nodiscard]] double capsule_db(const RunPlan& plan);

/// Of a dipole without capsule at this distance from a face [m], in whose near field it
/// lies; 0 for other sources.
[[nodiscard]] double near_face_db(const RunPlan& plan, double distance);

/// What the grid's anisotropy does to the strength of a source in one direction [dB].
/// \param eps  relative permittivity about the source [1]
[[nodiscard]] double source_anisotropy_db(const RunPlan& plan, std::complex<double> eps,
                                          double frequency);

/// Grid error of the power that an implant of a slice delivers [dB]. TMz: that of its own
/// cell (solver/own_cell.hpp), and as much as its strength is off in one direction. TEz:
/// that of its capsule. Empty where it cannot be told: no capsule in TEz.
/// \param delivered  the power found [W/m]
[[nodiscard]] std::optional<double> delivered_error_db(const RunPlan& plan,
                                                       double frequency,
                                                       double delivered);

/// Whether the source lies in a medium with losses.
[[nodiscard]] bool source_in_losses(const RunPlan& plan);

}  // namespace torsowave::app
