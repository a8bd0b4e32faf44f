/// \file
/// \brief Powers of a run: delivered, absorbed by tissue, through the skin, radiated.
///
/// Discrete Poynting theorem. The phasor sums obey Maxwell's discrete equations, in TMz
///   j Omega eps0 eps_d E = curl H - J,   j Omega mu0 H = -curl E - M,  Omega = (2/dt)
///   sin(w dt/2),
/// with the permittivity eps_d that the time-stepping implies. Multiply the first by E*,
/// sum over the cells inside a contour and sum by parts: the edges inside give |H|^2
/// terms that are purely imaginary, and the real part reads, to rounding,
///   -1/2 Re sum (E* J + H M*) dx^2 = 1/2 sum Omega eps0 (-Im eps_d) |E|^2 dx^2
///                                    + sum_edges flux.
/// (J. H. Poynting, Phil. Trans. 175 (1884) 343; the discrete form is derived here.) In
/// TEz the sums over E run over edges, with tensors at interfaces
/// (solver/tez_medium.hpp). In mode 1D everything is per area: the same over dx.

#pragma once

#include <complex>
#include <optional>
#include <span>
#include <vector>

#include "geometry/sectors.hpp"
#include "materials/debye_fit.hpp"
#include "postproc/result.hpp"
#include "postproc/sar_squares.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/medium.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/tez_medium.hpp"
#include "solver/tez_phasors.hpp"

namespace torsowave::postproc {

/// Where a source of the slice lies.
struct SourcePlace {
  solver::RadiatorKind kind = solver::RadiatorKind::line_current;
  int i = 0;
  int j = 0;
  double direction = 0.0;  ///< dipole [rad]
};

/// What the powers are computed from; all of one run.
struct PowerInputs {
  const geometry::TissueMap& map;
  const materials::DebyePalette&
      media;  ///< as stepped, in the order of the map's tissues
  const solver::Grid& grid;
  const solver::PhasorRecorder& phasors;     ///< of the centre field
  const solver::TezMedium* tez;              ///< null in TMz and 1D
  const solver::ContourRecorder& radiation;  ///< in the air; encloses source and body
  const solver::ContourRecorder* surface;    ///< around the body, or null
  const solver::ContourRecorder* inflow;     ///< plane wave: inside the total field
  std::optional<SourcePlace> source;         ///< empty: plane wave
  /// By frequency: the source's spectrum [A, V, A m/m], the incident field at the origin
  /// [V/m]; its ideal strength is this times source_gain [1].
  std::vector<std::complex<double>> source_sum;
  std::vector<std::complex<double>> source_gain;
  geometry::Sectors sectors;        ///< of the surface; empty without it
  std::optional<double> outer_eps;  ///< \see outer_permittivity(); empty: no far field
};

/// The fields of one frequency, per unit of source.
class FieldsAt {
public:
  /// \param inputs  must outlive the object
  FieldsAt(const PowerInputs& inputs, std::size_t f);

  /// Powers; see FrequencyResult.
  [[nodiscard]] FrequencyResult power_balance() const;

  /// Far field in directions [rad]; empty without PowerInputs::outer_eps.
  /// \param source_power  what gain is relative to [W/m]
  [[nodiscard]] std::optional<FarFieldResult> far_field(
      double source_power, std::span<const double> angles) const;

  /// Absorbed power density per source power over density, sigma_eff |E|^2/(2 rho)/P
  /// [W/kg per W/m], for each cell (ny, nx); 0 where no tissue with a density is, NaN
  /// nowhere. Times mass, over the cells, it adds up to the absorbed power of these
  /// tissues. TEz: \see solver::TezPhasors::heat_by_cell().
  /// \param densities  by tissue of the map [kg/m^3]; 0 where unknown or not tissue
  [[nodiscard]] std::vector<float> absorption_rate(
      double source_power, const std::vector<double>& densities) const;

  /// A field at the cell centres: "Ez", "Hx", "Hy", "Hz", "Ex", "Ey", (ny, nx), appended
  /// to `values`. Edge fields are the mean of both edges of a cell.
  /// \throws std::invalid_argument  No such field in this mode.
  void append(const std::string& field, std::vector<std::complex<float>>& values) const;

  /// Power of E in a stretch of a row of cells by the conductivity of one tissue, its
  /// share of the cells counted by length [W/m^2]: mode 1D.
  [[nodiscard]] double heat_in_layer(std::uint16_t tissue, double from, double to) const;

  /// Power along +x through the edge left of cell (i, j), or along +y through the edge
  /// below it [W/m^2]. Both factors as the discrete Poynting theorem has them.
  [[nodiscard]] double edge_flow(bool along_x, int i, int j) const;

  /// Centre field of a cell per unit of source.
  [[nodiscard]] std::complex<double> centre(int i, int j) const;

  /// The squared scale that brings recorded powers to one unit of source.
  [[nodiscard]] double scale() const noexcept { return scale_; }

private:
  [[nodiscard]] double delivered() const;
  [[nodiscard]] std::vector<double> absorbed(
      const std::vector<std::uint8_t>& inside) const;
  /// Heat of the tissues with a density [W/m^3 over scale_], (ny, nx).
  [[nodiscard]] std::vector<double> heat_density(
      const TissueCover& entries, const std::vector<double>& densities) const;
  [[nodiscard]] std::complex<double> edge_mean(bool along_x, int i, int j) const;

  const PowerInputs& inputs_;
  std::size_t f_;
  std::complex<double> unit_;  ///< 1 over the source's strength
  double scale_;
  std::optional<solver::TezPhasors> edges_;
};

/// The tissue whose absorption rate counts: with a density, and where powers are counted
/// (not in the absorber, nor outside the total field of a plane wave). Times the
/// absorption rate `mass` is the absorbed power density of these tissues.
/// \param densities  as for FieldsAt::absorption_rate()
[[nodiscard]] TissueCover tissue_cover(const PowerInputs& inputs,
                                       const std::vector<double>& densities);

/// Centres of `count` equal sectors from 0 [deg].
[[nodiscard]] std::vector<double> sector_centres_deg(int count);

}  // namespace torsowave::postproc
