/// \file
/// \brief From a slice to the gain of an implanted antenna in three dimensions, in dBi.
///
/// A short dipole of moment I l at z = 0 in a body that is the same for all z is a sum of
/// line sources (1/(2 pi)) I l exp(-j kz z) dkz. Each has a far field F(kz, phi)
/// exp(-j k_rho rho)/sqrt(rho), k_rho^2 = k^2 - kz^2, k that of the medium outside, and
/// in the plane z = 0 the phase is stationary at kz = 0, which *is* the slice:
///   psi -> (1/(2 pi)) F(0, phi) sqrt(2 pi j k/rho) exp(-j k rho)/sqrt(rho)
///        = F sqrt(j k/(2 pi)) exp(-j k rho)/rho.
/// rho^2 S is therefore (k/(2 pi)) U with the slice's U = rho S, and
///   EIRP(phi) = 4 pi rho^2 S = 2 k U(phi).
/// Stationary phase: L. B. Felsen, N. Marcuvitz, *Radiation and Scattering of Waves*,
/// 1973, ch. 4 (from memory). In air U = k0 eta0/(16 pi) gives EIRP = eta0 k0^2/(8 pi),
/// and over P = eta0 k0^2/(12 pi) the textbook's 1.5 (C. A. Balanis, *Antenna Theory*,
/// ch. 4, from memory).
///
/// A round capsule of a slice is a cylinder, the implant's is a sphere, and the two show
/// a different part m of the moment to the tissue outside (small and of air in muscle: 1
/// or nearly 2, and 1.5). P belongs to the sphere, so that EIRP takes the factor
/// |m_sphere/m_slice|^2: 3.5 to -7 dB in muscle (docs/numerics.md, section 16).
///
/// What is assumed, and has to stand beside every figure: the body is the same for all z;
/// the tissue around the capsule is homogeneous, and what the dipole delivers, and the
/// factor, are as if it had no end (no reaction of the body's outlines on the source);
/// the antenna is a short dipole without mismatch or losses in the middle of a spherical
/// capsule without losses. A planning and teaching estimate, not a compliance or clinical
/// result: local codes and licensed practice decide.

#pragma once

#include <span>
#include <vector>

#include "postproc/far_field.hpp"
#include "postproc/result.hpp"
#include "solver/capsule_dipole.hpp"

namespace torsowave::postproc {

/// The source of a slice.
struct SliceSource {
  /// line_current: the dipole lies along z; dipole: in the plane.
  solver::RadiatorKind kind = solver::RadiatorKind::line_current;
  /// The slice shows the capsule, a circle of its radius and filling about the source;
  /// else the source lies in the tissue itself.
  bool has_capsule = true;
};

/// EIRP [W per (A m)^2] in the plane of the slice: 2 k U for the slice's own moment.
/// \param intensity  U [W/m/rad] per (1 A)^2 of line current or (1 A m/m)^2 of dipole
[[nodiscard]] double eirp(double intensity, const FarZone& zone);

/// |m_sphere/m_slice|^2 [1]: power that a spherical capsule sends out, over that which
/// the slice's source does, for the same moment.
/// \throws std::invalid_argument  \see solver::CapsuleDipole, line_outside_moment()
[[nodiscard]] double capsule_factor(const solver::Capsule& capsule, double frequency,
                                    const SliceSource& source);

/// Gain of a short dipole in a capsule, relative to an isotropic radiator that is fed
/// the power P that the dipole delivers to the body.
/// \param intensity  U of far_field() by direction [W/m/rad], per unit of source squared
/// \param zone       the medium outside the body
/// \param capsule    with the tissue around it at zone.frequency
/// \return  without uncertainties
/// \throws std::invalid_argument  The source is no electric one or not of the zone's
///         polarisation; \see solver::CapsuleDipole
[[nodiscard]] AntennaGain antenna_gain(std::span<const double> intensity,
                                       const FarZone& zone,
                                       const solver::Capsule& capsule,
                                       const SliceSource& source);

}  // namespace torsowave::postproc
