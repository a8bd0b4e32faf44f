/// \file
/// \brief SAR of a short dipole in three dimensions: next to its capsule in closed form,
/// farther away from the slice.
///
/// **Next to the capsule** the field of solver::CapsuleDipole is exact for one tissue
/// without end. SAR = sigma_eff |E|^2/(2 rho), sigma_eff = w eps0 eps'', per W delivered
/// = over P(a). An average over a cube needs int |E|^2 dV; with E_theta = e(r) sin(theta)
/// and E_r = g(r) cos(theta) the vector
///   F = (r^/r^2) [sin^2(theta) int_a^r |e|^2 s^2 ds + cos^2(theta) int_a^r |g|^2 s^2 ds]
/// has div F = |E|^2 outside the capsule and is 0 in it, so that the integral is the flux
/// of F through the six faces, wherever the cube lies (Gauss; derived here).
///
/// The cube holds m = 1 g or 10 g of tissue; the capsule's share of its volume may be 10
/// % (IEC/IEEE 62704-1:2017, caption of figure 3, seen in a contents list, for what is no
/// tissue). A capsule that takes less of the cube about it is inside, in its middle: the
/// hottest tissue is then. Else the cube is pushed over the capsule, from five
/// directions, until the share is 10 %; the hottest counts. No average can exceed 1/m,
/// all of the power in one cube.
///
/// **Farther away.** A dipole at z = 0 in a body that is the same for all z is a sum of
/// line sources, E3 = (1/(2 pi)) int E(kz) dkz, and E(0) = E2 is the slice's. In one
/// tissue both are known, with z = k r and q = 1/(j z):
///   |E3/E2|^2 = |1 + q + q^2|^2/(pi r |H0(z) exp(j z)|)^2              along z
///   = [4 |q + q^2|^2 c^2 + |1 + q + q^2|^2 s^2]/
///     ((pi r)^2 [|H1(z)/z|^2 c^2 + |H1'(z)|^2 s^2] |exp(j z)|^2)       in the plane
/// for the bare dipole, c and s of the angle from it, H of the second kind (fields:
/// solver/capsule_dipole.hpp, docs/numerics.md 13). Far away the first is |k|/(2 pi r):
/// the kz integral taken where its phase is stationary. Through several tissues that
/// phase is int (k^2 - kz^2)^(1/2) ds ~ int k ds - (kz^2/2) int ds/k on the straight way,
/// which makes it |1/(2 pi int ds/k)|: the same with 1/k averaged along the way. So the
/// formulas above are taken with this k, exact in one tissue and by stationary phase
/// elsewhere. What goes round about (reflections, refraction) has another way, and no
/// bound is known: an estimate. How far it is off where it can be computed:
/// docs/validation.md, "SAR".
///
/// Planning and teaching estimate, not a compliance or clinical result: local codes and
/// licensed practice decide.

#pragma once

#include <array>
#include <complex>
#include <vector>

#include "geometry/tissue_map.hpp"
#include "postproc/sar_result.hpp"
#include "solver/capsule_dipole.hpp"

namespace torsowave::postproc {

/// A cube with faces along and across the dipole's axis, which is the third.
struct DipoleCube {
  std::array<double, 3> centre{};  ///< from the dipole [m]
  double side = 0.0;               ///< [m]
};

/// Heat and mass of the tissue around a capsule.
class CapsuleHeat {
public:
  /// \param reach    how far away heat will be asked for [m]
  /// \throws std::invalid_argument  \see solver::CapsuleDipole
  CapsuleHeat(const solver::Capsule& capsule, double frequency, double reach);

  /// int sigma_eff |E|^2/2 dV over the tissue in a cube, per W delivered [1].
  /// \param cube  no corner farther away than `reach`
  [[nodiscard]] double share_in(const DipoleCube& cube) const;

  /// The tissue in a cube: its volume less the capsule's part [m^3].
  [[nodiscard]] double tissue_in(const DipoleCube& cube) const;

  /// sigma_eff |E|^2/2 on the capsule per W delivered [W/m^3 per W], on the dipole's axis
  /// and across it.
  [[nodiscard]] double end_on() const noexcept { return end_on_; }
  [[nodiscard]] double broadside() const noexcept { return broadside_; }

private:
  [[nodiscard]] double until(double r, double cos_square) const;

  double radius_;
  double log_step_;
  double end_on_ = 0.0;
  double broadside_ = 0.0;
  std::vector<double> along_;   ///< int sigma |g|^2/2 s^2 ds/P by ln(r/a)
  std::vector<double> across_;  ///< int sigma |e|^2/2 s^2 ds/P
};

/// The cube of this mass with the largest average.
struct HottestCube {
  DipoleCube cube;
  double average = 0.0;  ///< [W/kg per W]
};
/// \param volume  of the tissue in the cube: mass over density [m^3]
/// \param mass    [kg]
[[nodiscard]] HottestCube hottest_cube(const CapsuleHeat& heat, double radius,
                                       double volume, double mass);

/// All of the above.
/// \param density  of the tissue [kg/m^3], > 0
/// \throws std::invalid_argument  \see solver::CapsuleDipole
[[nodiscard]] CapsuleSar capsule_sar(const solver::Capsule& capsule, double frequency,
                                     double density);

/// |E3/E2|^2 [1/m^2]: a bare dipole of 1 A m in one medium, in the plane z = 0, over the
/// slice's line source of 1 A (along z) or 1 A m/m (in the plane).
/// \param k      in the medium [rad/m], Im <= 0
/// \param r      [m], > 0
/// \param angle  from the dipole in the plane [rad]; of no effect along z
[[nodiscard]] double dipole_over_line(solver::RadiatorKind kind, std::complex<double> k,
                                      double r, double angle);

/// A dipole in a slice.
struct DipoleInSlice {
  solver::RadiatorKind kind = solver::RadiatorKind::line_current;
  geometry::Point at;      ///< [m]
  double direction = 0.0;  ///< [rad], in the plane alone
  double radius = 0.0;     ///< within it the tissue around the capsule goes on [m]
  std::complex<double> eps_around = 1.0;  ///< of that tissue
};

/// dipole_over_line() from the dipole to every cell [1/m^2], (ny, nx), with 1/k averaged
/// along the straight way. Interpolated between 120 ways.
/// \param eps  by tissue of the map [1], Im <= 0; of a conductor any: it shields what is
///             behind it in the slice already
[[nodiscard]] std::vector<float> dipole_over_slice(
    const geometry::TissueMap& map, const std::vector<std::complex<double>>& eps,
    double frequency, const DipoleInSlice& dipole);

}  // namespace torsowave::postproc
