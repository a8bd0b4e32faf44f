/// \file
/// \brief Where in the body a link would close: gain at every place from one run each.
///
/// Reciprocity instead of a run for each place (H. A. Lorentz's theorem; R. F.
/// Harrington, *Time-Harmonic Electromagnetic Fields*, 1961, sec. 3-8, from memory). A
/// plane wave of psi_inc = w = exp(+j k n.r), n towards the reader, travels from the
/// reader to the body and makes the total field psi_t there. It solves the equations of a
/// slice without sources, psi those with one current I in cell c. Of the two,
///   sum over all cells [psi_t L psi - psi L psi_t] dx^2,   L the slice's operator,
/// is what the source has to say, and by parts a sum over the contour in air, as in
/// far_field.hpp. There psi_t = w + scattered, the scattered part and psi both run
/// outward and their terms cancel, and those of w are N(phi). On the grid, exactly:
///   TMz: N = j Omega mu0 I Ez_t(c)
///   TEz: N = -+ j Omega eps0 eps sum over edges J.E_t dx^2, a dipole's four half edges:
///        N = -+ j Omega eps0 eps p.E_t(c), E_t(c) the mean of the cell's opposite edges.
/// With U = g |N|^2/(16 pi Omega kappa), and E_t per 1 V/m of incident field,
///   U(phi; c) = (g Omega mu0 (eps in TEz)/(16 pi)) |p.E_t(c)|^2     per unit of source:
/// in air, where |p.E_t| is 1 or |sin|, bare_intensity(). In TEz the wave needs vacuum
/// around the body. Sources of solver::source_gain() s are s times as strong as their
/// current: U/|s|^2.
///
/// The same U as that of a run with the source at the place, to rounding; but the slice
/// has no capsule (antenna_gain.hpp: SliceSource::has_capsule = false), and a dipole's
/// run takes scalar media about its cell where an interface crosses it.

#pragma once

#include <complex>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "geometry/body_surface.hpp"
#include "geometry/tissue_map.hpp"
#include "postproc/antenna_gain.hpp"
#include "postproc/far_field.hpp"
#include "solver/capsule_dipole.hpp"
#include "solver/grid.hpp"

namespace torsowave::postproc {

/// U towards `angle` [W/m/rad] per (1 A)^2 or (1 A m/m)^2 of a source at a place where a
/// wave of 1 V/m from there has |E| = 1 V/m along the source.
/// \param angle  towards the reader, a direction that a plane wave fits the grid in [rad]
[[nodiscard]] double reciprocal_intensity(const solver::Grid& grid, const FarZone& zone,
                                          double angle);

/// E in the plane at one place [V/m].
struct PlaneField {
  std::complex<double> x;
  std::complex<double> y;
};

/// |E . p|^2 for a dipole along `direction` [rad].
[[nodiscard]] double dipole_coupling(const PlaneField& e, double direction);

/// Direction in [-pi/2, pi/2] in which that is largest [rad]: the major axis of the
/// ellipse that E runs through.
[[nodiscard]] double best_dipole_direction(const PlaneField& e);

/// What turns |E . p|^2 of one frequency and one reader direction into gain.
struct CoverageCase {
  const geometry::TissueMap& map;  ///< without implant
  const solver::Grid& grid;
  FarZone zone;
  double angle = 0.0;  ///< towards the reader [rad]
  solver::RadiatorKind kind = solver::RadiatorKind::line_current;
  /// By tissue of the map: the capsule with that tissue around it; empty where no implant
  /// can be (air, conductors).
  std::vector<std::optional<solver::Capsule>> capsules;
};

/// Gain towards the reader of an implant in each cell [dBi], (ny, nx); NaN where none can
/// be. The delivered power is that in the tissue at the cell's centre.
/// \param coupling  |E . p|^2/|s|^2 per (1 V/m)^2, (ny, nx)
/// \throws std::invalid_argument  Sizes do not agree; \see antenna_gain()
[[nodiscard]] std::vector<float> gain_map(const CoverageCase& of,
                                          std::span<const double> coupling);

/// A cell of a map of margins.
struct CoveredPlace {
  geometry::Point at;  ///< its centre [m]
  std::string tissue;
  double depth = 0.0;  ///< below the skin, to within a cell [m]
  double margin_db = 0.0;
};

/// Areas count cells by the tissue at their centre [m^2].
struct CoveredTissue {
  std::string tissue;
  double area = 0.0;
  double closed = 0.0;  ///< where the margin is 0 dB or more
};

struct CoverageFigures {
  double area = 0.0;                    ///< all places where an implant can be [m^2]
  double closed = 0.0;                  ///< where the margin is 0 dB or more [m^2]
  std::vector<CoveredTissue> tissues;   ///< those with an area, in the order of the map
  std::optional<CoveredPlace> deepest;  ///< of those with a margin; empty: none has
  std::optional<CoveredPlace> best;     ///< the largest margin
  std::optional<CoveredPlace> worst;    ///< the smallest
};

/// \param surface  of the body (geometry::body_surface())
/// \param margin   [dB], (ny, nx); NaN: no place
[[nodiscard]] CoverageFigures coverage_figures(const geometry::TissueMap& map,
                                               const geometry::Contour& surface,
                                               std::span<const float> margin);

}  // namespace torsowave::postproc
