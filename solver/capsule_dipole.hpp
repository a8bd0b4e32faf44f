/// \file
/// \brief A short dipole in a spherical capsule in tissue: what it delivers, exactly.
///
/// Electric dipole of moment I l [A m] along z in the centre of a sphere of radius a
/// without losses (eps1), eps2 outside without end. The field has the first order alone,
/// H = phi^ sin(theta) f(r), and curl H = j w eps E gives
///   E_theta = sin(theta) e(r),   e = -(1/(j w eps r)) d(r f)/dr,
///   E_r = cos(theta) 2 f/(j w eps r).
/// With k = (w/c) sqrt(eps), j1 and h1 = j1 - j y1 the spherical Bessel function and
/// Hankel function of the second kind (outgoing with exp(+j w t)),
///   f = A h1(k1 r) + B j1(k1 r) inside,  C h1(k2 r) outside,  A = -j I l k1^2/(4 pi),
/// A from f -> I l/(4 pi r^2) at the source. In psi(x) = x j1(x) = sin(x)/x - cos(x) and
/// xi(x) = x h1(x) = -exp(-j x) (1 - j/x), with x = k1 a, y = k2 a and n = sqrt(eps), f
/// and e are continuous where
///   (A xi(x) + B psi(x))/k1 = C xi(y)/k2
///   (A xi'(x) + B psi'(x))/k1 = (n1/n2) C xi'(y)/k2.
/// B drops out by Wronskian, psi xi' - psi' xi = -j:
///   C = I l k1 k2/(4 pi D),   D = xi(y) psi'(x) - (n1/n2) xi'(y) psi(x).
/// \see J. A. Stratton, *Electromagnetic Theory*, 1941, ch. VII and sec. 8.5; R. F.
///      Harrington, *Time-Harmonic Electromagnetic Fields*, 1961, secs. 2-9 and 6-1
///      (spherical waves, dipole); C. T. Tai, R. E. Collin, "Radiation of a Hertzian
///      dipole immersed in a dissipative medium", IEEE Trans. Antennas Propag. 48 (2000)
///      1501-1506 (insulated by a sphere); all from memory. Power: capsule_dipole.cpp.

#pragma once

#include <complex>

#include "solver/grid_dispersion.hpp"

namespace torsowave::solver {

/// A capsule about a source, and the medium around it.
struct Capsule {
  double radius = 0.0;                    ///< a [m], > 0
  double eps_filling = 1.0;               ///< eps1 [1], > 0: no losses
  std::complex<double> eps_tissue = 1.0;  ///< eps2 [1], Im <= 0; real only if > 0
};

/// Field of 1 A m at one distance: peak phasors, angles from the dipole's axis.
struct CapsuleDipoleField {
  std::complex<double> h_phi;    ///< f: H_phi at theta = 90 deg [A/m]
  std::complex<double> e_theta;  ///< e: E_theta at theta = 90 deg [V/m]
  std::complex<double> e_r;      ///< E_r at theta = 0 [V/m]
};

/// A short electric dipole of 1 A m in the centre of a spherical capsule, at one
/// frequency. Real implants are neither short dipoles nor alone in one tissue without
/// end: a planning and teaching estimate.
class CapsuleDipole {
public:
  /// \param frequency  [Hz], > 0
  /// \throws std::invalid_argument  A value is not finite, radius or frequency or filling
  ///         is not > 0, the tissue has gain, or no wave travels in it.
  CapsuleDipole(const Capsule& capsule, double frequency);

  /// Mean power [W per (A m)^2] outward through the sphere of radius r about the dipole.
  /// \param r  [m], >= the capsule's radius
  /// \throws std::invalid_argument  r is less, or not finite.
  [[nodiscard]] double power_through(double r) const;

  /// What the dipole delivers [W per (A m)^2]: all of it leaves the lossless capsule.
  [[nodiscard]] double delivered() const { return power_through(capsule_.radius); }

  /// \param r  [m], >= the capsule's radius (fields just outside it)
  /// \throws std::invalid_argument  r is less, or not finite.
  [[nodiscard]] CapsuleDipoleField field(double r) const;

  /// Moment of the bare dipole in the tissue, per unit of this one's, that has the same
  /// field outside the capsule [1]: C/(-j I l k2^2/(4 pi)) = j n1/(n2 D). For a small
  /// capsule 3 eps2/(2 eps2 + eps1), the static value.
  [[nodiscard]] std::complex<double> outside_moment() const;

private:
  void require_outside(double r) const;

  Capsule capsule_;
  double k0_ = 0.0;              ///< w/c [rad/m]
  std::complex<double> n2_;      ///< sqrt(eps2), Re > 0
  std::complex<double> scaled_;  ///< D exp(+j k2 a)
};

/// The same for a line source in the middle of a *circular* capsule: what of it is seen
/// outside, per unit of the bare source in the tissue [1]. For a small capsule 1 (line
/// current) and 2 eps2/(eps1 + eps2) (dipole). Equation above the code.
/// \param kind  line_current, or dipole (in the plane)
/// \throws std::invalid_argument  Another kind; as CapsuleDipole().
[[nodiscard]] std::complex<double> line_outside_moment(const Capsule& capsule,
                                                       double frequency,
                                                       RadiatorKind kind);

}  // namespace torsowave::solver
