/// \file
/// \brief Powers of a path's layers: exact, and on the cells of a run.

#pragma once

#include <complex>
#include <vector>

#include "app/path_model.hpp"

namespace torsowave::app {

/// Powers of the layers at one frequency.
struct PathPowers {
  double first = 0.0;  ///< reflectance; of a sheet, power into the first half-space
                       ///< [W/m^2]
  double last = 0.0;   ///< transmittance; of a sheet, power into the last one [W/m^2]
  std::vector<double> absorbed;  ///< by layer, likewise
  double delivered = 1.0;        ///< what they add up to

  [[nodiscard]] double heat() const;  ///< sum of absorbed
};

/// Exact powers. \param eps  by tissue of the plan [1]; unused for conductors
[[nodiscard]] PathPowers exact_powers(const RunPlan& plan, const PathStack& stack,
                                      const std::vector<std::complex<double>>& eps,
                                      double frequency);

/// Powers on the plan's cells, laid across the layers: exact for the scheme.
/// \param eps    discrete permittivity by tissue of the plan [1]
/// \param about  the true one at the source, to which it is calibrated
///               (solver::source_gain()); unused for a plane wave
[[nodiscard]] PathPowers grid_powers(const RunPlan& plan, const PathStack& stack,
                                     const std::vector<std::complex<double>>& eps,
                                     std::complex<double> about, double frequency);

}  // namespace torsowave::app
