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
#include "scenarios/layer_stack.hpp"
#include "scenarios/scenario.hpp"
#include "solver/absorber.hpp"
#include "solver/grid.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/plane_wave.hpp"
#include "solver/tez_medium.hpp"
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
  solver::Stencil stencil = solver::Stencil::plain;  ///< in media with losses
  geometry::TissueMap map;                           ///< mode 1D: one row
  std::optional<solver::TezMedium> tez;              ///< mode TEz
  std::optional<scenarios::LayerStack> stack;        ///< mode 1D
  std::optional<geometry::Body> body;                ///< modes TMz, TEz
  std::optional<geometry::Contour> surface;          ///< of the body, unless it meets the
                                                     ///< absorber
  geometry::Contour radiation;                       ///< in front of the absorber
  std::optional<geometry::Contour> inflow;  ///< inside the total field of a plane wave
  solver::Grid grid;
  solver::AbsorberSpec absorber;
  solver::Waveform waveform;
  int source_i = 0;  ///< cell of the implant
  int source_j = 0;
  std::optional<solver::CellBox> total_field;  ///< of a plane wave
  std::vector<Cell> probe_cells;  ///< in the order of scenario.outputs.probes
  int interval = 1;               ///< steps between observations
  int sums_every = 1;             ///< observations between samples of the Fourier sums
  int period_steps = 0;    ///< cw: steps in a period, a multiple of the interval; else 0
  double fade_time = 0.0;  ///< over which a pulse run's Fourier sums fade out [s]
  std::vector<Sampling> sampling;
  MemoryNeed memory;
  std::vector<double> far_angle_deg;  ///< directions of the far field; empty:
                                      ///< postproc::far_directions
  double extent = 0.0;                ///< half the way through the body [m]
  double expected_time = 0.0;  ///< simulated time [s], exact if the scenario sets it

  [[nodiscard]] bool one_d() const { return scenario.mode == scenarios::Mode::one_d; }
  [[nodiscard]] bool is_tez() const { return scenario.mode == scenarios::Mode::tez; }
  [[nodiscard]] solver::Stencil stencil_in(std::size_t tissue) const
  {
    return has_losses(fitted.media[tissue]) ? stencil : solver::Stencil::plain;
  }
  /// Name of the field at the cell centres.
  [[nodiscard]] std::string centre_field() const { return is_tez() ? "Hz" : "Ez"; }
};

/// Makes a scenario concrete and checks all that needs the grid.
/// \param anchor  lies on a cell's centre [m]; empty: the implant does. Plans of one body
///   with the same anchor have the same cells, wherever their implants lie
/// \throws scenarios::InputError  Too coarse a grid, a Debye fit that misses its bound,
/// an implant in a conductor, a probe outside, no air left. \throws MachineError  Not
/// enough memory: nothing large was allocated before.
[[nodiscard]] RunPlan plan_run(const scenarios::Scenario& scenario,
                               std::optional<geometry::Point> anchor = std::nullopt);

/// Memory that a run takes at most [bytes], without the Debye fit and before anything
/// large is allocated: with four relaxation times where the scenario leaves their number
/// open. \throws MachineError  More cells than can be counted.
[[nodiscard]] std::uint64_t memory_bound(const scenarios::Scenario& scenario);

/// The phasor fields to store: those asked for, and those that a picture shows.
[[nodiscard]] std::vector<std::string> stored_phasors(
    const scenarios::Scenario& scenario);

/// Whether a quantity of pictures is a field: Ez, Hx, ...
[[nodiscard]] bool is_field_name(const std::string& quantity);

/// Memory that this machine can still give [bytes].
[[nodiscard]] std::uint64_t available_memory();

}  // namespace torsowave::app
