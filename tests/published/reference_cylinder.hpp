/// \file
/// \brief Exact fields of an electric line source in free space and inside a layered
/// cylinder (TMz).
///
/// The oracle of the solver's tests. Convention exp(+j omega t), line current I = 1 A
/// (peak), relative permittivity eps' - j eps'', k = (omega/c) sqrt(eps_r) with Im k <=
/// 0, non-magnetic media, SI units. Bessel functions and sums are evaluated in Arb's
/// interval arithmetic; a result whose error bound exceeds 1e-13 of the largest term is
/// an exception, not a number.

#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <vector>

namespace torsowave::reference {

/// J_n(z), H_n^(2)(z) and their derivatives with respect to z, to double precision.
/// \throws std::domain_error  A Hankel function at z = 0.
[[nodiscard]] std::complex<double> bessel_j(int n, std::complex<double> z);
[[nodiscard]] std::complex<double> bessel_j_derivative(int n, std::complex<double> z);
[[nodiscard]] std::complex<double> hankel2(int n, std::complex<double> z);
[[nodiscard]] std::complex<double> hankel2_derivative(int n, std::complex<double> z);

/// Wavenumber (omega/c) sqrt(eps_r) [rad/m] with Im k <= 0.
[[nodiscard]] std::complex<double> wavenumber(std::complex<double> eps_r,
                                              double frequency);

/// E_z [V/m] at distance `rho` [m] from a line current of 1 A in a homogeneous medium:
/// E_z = -(omega mu0 I/4) H_0^(2)(k rho).
/// \see R. F. Harrington, *Time-Harmonic Electromagnetic Fields*, sec. 5-6 (from memory);
///      E. J. Rothwell, M. J. Cloud, *Electromagnetics*, CRC Press, 2001, sec. 4.11, eq.
///      (4.343).
[[nodiscard]] std::complex<double> line_source_field(std::complex<double> eps_r,
                                                     double frequency, double rho);

/// Power [W/m] that a 1 A line current delivers in a homogeneous, possibly lossy medium:
/// P = (omega mu0/8)(1 + (2/pi) arg k), finite since Re E_z stays finite as rho -> 0.
[[nodiscard]] double line_source_power(std::complex<double> eps_r, double frequency);

/// One ring of the cylinder, from the ring before it (or the axis) to `outer_radius` [m].
struct CylinderLayer {
  double outer_radius;
  std::complex<double> eps_r;
};

/// Concentric layers with a 1 A line source in the innermost one.
///
/// Solutions of mode n in layer m are e_n(rho) = eps_n A0 [B J_n(k_m rho) + C H_n(k_m
/// rho)] with A0 = -omega mu0 I/4 and eps_n = 1 for n = 0, else 2; E_z and dE_z/drho are
/// continuous. \see Rothwell & Cloud (as above), sec. 4.11, for the boundary matching;
/// derivation in the
///      source file. Modes are found on demand and kept, so an object serves one thread
///      at a time.
class LayeredCylinder {
public:
  /// \param layers  innermost first, radii [m] rising
  /// \param eps_outside  medium around the cylinder
  /// \param frequency  [Hz]
  /// \param source_radius  [m], >= 0 and inside the innermost layer
  /// \param source_angle  [rad]
  /// \throws std::invalid_argument  No layer, radii that do not rise, a medium with gain,
  /// or a
  ///         source outside the innermost layer.
  LayeredCylinder(std::vector<CylinderLayer> layers, std::complex<double> eps_outside,
                  double frequency, double source_radius, double source_angle = 0.0);
  ~LayeredCylinder();
  LayeredCylinder(LayeredCylinder&&) noexcept;
  LayeredCylinder& operator=(LayeredCylinder&&) noexcept;

  /// E_z [V/m] at any point but the source.
  [[nodiscard]] std::complex<double> field(double rho, double phi) const;
  /// dE_z/drho [V/m^2]; H_phi = (dE_z/drho)/(j omega mu0).
  [[nodiscard]] std::complex<double> radial_derivative(double rho, double phi) const;

  /// Radiation intensity U(phi) [W/m/rad] = lim rho |E_z|^2/(2 eta); lossless outside
  /// only.
  [[nodiscard]] double radiation_intensity(double phi) const;
  /// Integral of U over the full turn [W/m]: (2/(omega mu0)) sum eps_n |A0 C_n|^2.
  /// \throws std::domain_error  The outer medium has losses.
  [[nodiscard]] double radiated_power() const;
  /// Net outward power [W/m] through the circle of this radius, which may not hold the
  /// source.
  [[nodiscard]] double power_through(double radius) const;
  /// Power [W/m] turned into heat in a layer (0 = innermost), from the difference of the
  /// fluxes.
  [[nodiscard]] double absorbed_power(std::size_t layer) const;
  /// Power [W/m] that the source delivers, -(1/2) Re(E_z I*) at the source.
  [[nodiscard]] double source_power() const;

private:
  class Modes;
  std::unique_ptr<Modes> modes_;
};

}  // namespace torsowave::reference
