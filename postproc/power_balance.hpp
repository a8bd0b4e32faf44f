/// \file
/// \brief Powers of a run: delivered, absorbed by tissue, through the skin, radiated.
///
/// Discrete Poynting theorem. The phasor sums obey Maxwell's discrete equations,
///   j Omega eps0 eps_d E = curl H - J,   j Omega mu0 H = -curl E,  Omega = (2/dt) sin(w
///   dt/2),
/// with the permittivity eps_d that the time-stepping implies. Multiply the first by E*,
/// sum over the cells inside a contour and sum by parts: the edges inside give |H|^2
/// terms that are purely imaginary, and the real part reads, to rounding,
///   -1/2 Re sum E* J dx^2 = 1/2 sum Omega eps0 (-Im eps_d) |E|^2 dx^2 + sum_edges flux.
/// (J. H. Poynting, Phil. Trans. 175 (1884) 343; the discrete form is derived here.)

#pragma once

#include <complex>
#include <vector>

#include "geometry/body_surface.hpp"
#include "materials/debye_fit.hpp"
#include "postproc/result.hpp"
#include "solver/medium.hpp"
#include "solver/phasor_recorder.hpp"

namespace torsowave::postproc {

/// What the powers are computed from; all of one run.
struct PowerInputs {
  const geometry::TissueMap& map;
  const materials::DebyePalette&
      media;  ///< as stepped, in the order of the map's tissues
  const solver::Grid& grid;
  const solver::PhasorRecorder& phasors;
  const solver::ContourRecorder& radiation;  ///< in the air; encloses source and body
  const solver::ContourRecorder* surface;    ///< around the body, or null
  const solver::SourceRecorder& source;
  int source_i = 0;
  int source_j = 0;
  std::vector<std::complex<double>> source_gain;  ///< by frequency [1]
  geometry::Point centre;                         ///< of the sectors: the body's centroid
  int sectors = 72;
};

/// Powers at frequency index f, per (1 A)^2.
[[nodiscard]] FrequencyResult power_balance(const PowerInputs& inputs, std::size_t f);

/// Centres of `count` equal sectors from 0 [deg].
[[nodiscard]] std::vector<double> sector_centres_deg(int count);

/// Absorbed power density per source power over density, sigma_eff |E|^2/(2 rho)/P
/// [W/kg per W/m], for each cell (ny, nx); 0 where no tissue with a density is, NaN
/// nowhere. \param densities  by tissue of the map [kg/m^3]; 0 where unknown or not
/// tissue
[[nodiscard]] std::vector<float> absorption_rate(const PowerInputs& inputs, std::size_t f,
                                                 double source_power,
                                                 const std::vector<double>& densities);

/// Ez of every cell at frequency index f, per ampere [V/m], (ny, nx), appended to
/// `values`.
void append_phasor(const PowerInputs& inputs, std::size_t f,
                   std::vector<std::complex<float>>& values);

/// Hx at the cell centres (mean of the edges below and above) or Hy (left and right),
/// from Ez by the discrete law of induction, per ampere [A/m], appended to `values`.
void append_magnetic_phasor(const PowerInputs& inputs, std::size_t f, bool along_x,
                            std::vector<std::complex<float>>& values);

}  // namespace torsowave::postproc
