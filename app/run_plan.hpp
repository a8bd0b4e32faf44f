/// \file
/// \brief Everything that is known before the first time step: the scenario made
/// concrete.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "geometry/body_surface.hpp"
#include "geometry/tissue_map.hpp"
#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "scenarios/scenario.hpp"
#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/waveform.hpp"

namespace torsowave::app {

/// How finely the grid samples the wave in one tissue.
struct Sampling {
  std::string tissue;
  double wavelength = 0.0;  ///< [m] at the highest frequency
  double cells = 0.0;       ///< per wavelength
};

/// Memory that a run takes, before it is taken [bytes].
struct MemoryNeed {
  std::uint64_t fields = 0;
  std::uint64_t phasors = 0;
  std::uint64_t maps = 0;  ///< tissue map, results
  [[nodiscard]] std::uint64_t total() const noexcept { return fields + phasors + maps; }
};

/// A cell of the grid.
struct Cell {
  int i = 0;
  int j = 0;
};

struct RunPlan {
  scenarios::Scenario scenario;
  std::vector<materials::Tissue> tissues;  ///< in the order of map.tissues
  double band_from = 0.0;                  ///< of the Debye fit [Hz]
  double band_to = 0.0;                    ///< [Hz]
  materials::DebyePalette fitted;          ///< the tissues as Debye media
  materials::DebyePalette stepped;  ///< the same, corrected for the grid's dispersion
  geometry::TissueMap map;
  geometry::Body body;
  std::optional<geometry::Contour> surface;  ///< empty if the body meets the absorber
  geometry::Contour radiation;               ///< in front of the absorber
  solver::Grid grid;
  solver::AbsorberSpec absorber;
  solver::Waveform waveform;
  int source_i = 0;
  int source_j = 0;
  std::vector<Cell> probe_cells;  ///< in the order of scenario.outputs.probes
  int interval = 1;               ///< steps between observations
  int period_steps = 0;    ///< cw: steps in a period, a multiple of the interval; else 0
  double fade_time = 0.0;  ///< over which a pulse run's Fourier sums fade out [s]
  std::vector<Sampling> sampling;
  MemoryNeed memory;
  double expected_time = 0.0;  ///< simulated time [s], exact if the scenario sets it
};

/// Makes a scenario concrete and checks all that needs the grid.
/// \throws scenarios::InputError  Too coarse a grid, a Debye fit that misses its bound,
/// an implant in a conductor, a probe outside, no air left. \throws MachineError  Not
/// enough memory: nothing large was allocated before.
[[nodiscard]] RunPlan plan_run(const scenarios::Scenario& scenario);

/// The phasor fields to store: those asked for, and Ez where a picture shows it.
[[nodiscard]] std::vector<std::string> stored_phasors(
    const scenarios::OutputSpec& outputs);

/// Memory that this machine can still give [bytes].
[[nodiscard]] std::uint64_t available_memory();

}  // namespace torsowave::app
