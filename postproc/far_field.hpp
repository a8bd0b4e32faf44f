/// \file
/// \brief From the fields on a contour to the far field: the 2-D near-to-far transform.
///
/// Outside the contour there is one lossless medium, and psi = Ez (kappa = mu0) or Hz
/// (kappa = eps0 eps) obeys the grid's own wave equation, (D + K0^2) psi = 0 with D the
/// five-point Laplacian and K0^2 = Omega^2 mu0 eps0 eps. So does the plane wave
/// w = exp(+j k(phi) n.r), n = (cos phi, sin phi), with the grid's wavenumber k(phi).
/// Summing w D psi - psi D w over the cells inside by parts leaves, exactly,
///   N(phi) = sum over edges [ mean(w) (psi_out - psi_in) - mean(psi) (w_out - w_in) ]
///          = sum over cells w (D + K0^2) psi dx^2,
/// means over both sides of the edge, psi_out - psi_in = +-j Omega kappa dx times the
/// tangential field of the edge: what solver::ContourRecorder holds. The right side is
/// the spectrum of everything inside that radiates, so N is the same on every contour,
/// and waves from outside (an absorber's echo) add nothing to it.
///
/// With Green's function (j/4) H_0(k rho) the field far away is
///   psi -> F exp(-j k rho)/sqrt(rho),   F = (j/4) sqrt(2 j/(pi k)) N.
/// On the grid the power into the angle d phi of wave vectors is that of the spectrum on
/// the circle K^2(k) = K0^2, also exactly,
///   U = g |N|^2/(16 pi Omega kappa),   g = 1/(dK^2/d(k^2)) = 1 + O((k dx)^2),
/// and F is scaled by sqrt(g w/Omega) so that U = k |F|^2/(2 w kappa) holds as without a
/// grid. The continuous transform: R. F. Harrington, *Time-Harmonic Electromagnetic
/// Fields*, 1961, secs. 3-13 and 5-10; C. A. Balanis, *Advanced Engineering
/// Electromagnetics*, 1989, ch. 11 (all from memory). The discrete one is derived here
/// and in docs/numerics.md, "Far field".

#pragma once

#include <complex>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "geometry/body_surface.hpp"
#include "geometry/tissue_map.hpp"
#include "materials/debye_fit.hpp"
#include "solver/grid.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::postproc {

/// The medium without losses that goes on to infinity, at one frequency.
struct FarZone {
  solver::Polarisation polarisation = solver::Polarisation::tmz;
  double frequency = 0.0;  ///< [Hz]
  double eps = 1.0;        ///< relative permittivity, real [1]
};

/// What reaches infinity in one direction, normalised as solver::cylinder::FarField.
struct FarPoint {
  std::complex<double> amplitude;  ///< F [V m^-1/2] (TMz) or [A m^-1/2] (TEz)
  double intensity = 0.0;          ///< U [W/m/rad]
};

/// Directions of a run's far fields, from 0. The pattern of a body of radius a holds
/// 2 k a harmonics in each sense and little beyond, so that sums over so many directions
/// are exact up to k a = 90 or so.
inline constexpr int far_directions = 360;

/// The far field of everything inside the contour; phases are from the origin of
/// coordinates.
/// \param contour  in the medium of `zone`, which is everywhere outside it
/// \param f        index of zone.frequency in the recorder
/// \param unit     factor of the recorded sums
/// \param angles   [rad]
/// \throws std::domain_error  \see solver::numerical_wavenumber
[[nodiscard]] std::vector<FarPoint> far_field(const solver::Grid& grid,
                                              const solver::ContourRecorder& contour,
                                              std::size_t f, const FarZone& zone,
                                              std::complex<double> unit,
                                              std::span<const double> angles);

/// U [W/m/rad] of a line source of one unit (1 A, 1 V, 1 A m/m) with nothing but the
/// zone's medium around it:
///   electric line w mu0/(16 pi), magnetic line w eps0 eps/(16 pi),
///   dipole (w mu0/(16 pi)) sin^2(angle), just 0 on its axis,
/// from |N| = w mu0, w eps0 eps and k sin(angle) above without a grid; for air the first
/// is k0 eta0/(16 pi).
/// \param angle  from the dipole's direction [rad]; else of no account
/// \throws std::invalid_argument  A current sheet.
[[nodiscard]] double bare_intensity(solver::RadiatorKind kind, const FarZone& zone,
                                    double angle);

/// Scattering width lim 2 pi r |psi_s/psi_i|^2 = 4 pi eta U [m] for an incident wave of
/// 1 V/m.
[[nodiscard]] double scattering_width(double intensity, const FarZone& zone);

/// Permittivity of the medium outside and along a contour, if there is a single one and
/// it has no losses and no dispersion; else there is no far field.
/// \param media  as stepped, in the order of the map's tissues
[[nodiscard]] std::optional<double> outer_permittivity(
    const geometry::TissueMap& map, const materials::DebyePalette& media,
    const geometry::Contour& contour);

}  // namespace torsowave::postproc
