/// \file
/// \brief Marching tangential fields through planar layers towards their source.
///
/// Along a coordinate s that leads away from the source, with exp(+j w t) and every field
/// ~ exp(-j k_t y), the tangential fields (U, V) obey the equations of a line,
///
///   dU/ds = -j a V,  dV/ds = -j b U,  k^2 = a b = k0^2 eps - k_t^2,  Im k <= 0,
///   TE: U = Ez,  a = w mu0,               b = k^2/(w mu0);
///   TM: U = Ey,  a = k^2/(w eps0 eps),    b = w eps0 eps,
///
/// and carry the power flux 1/2 Re(U V*) along +s. Beyond the last face there is only a
/// wave that leaves, V/U = Y = b/k, or a perfect conductor, U = 0. From there the fields
/// are marched back towards the source, over the distance r from a far face,
///
///   U(r) = cos(k r) U + j a (sin(k r)/k) V,   V(r) = cos(k r) V + j b (sin(k r)/k) U,
///
/// the direction in which the solution grows, so that errors do not; exp(alpha r) is
/// divided out of each layer, so that nothing overflows. Nothing is divided by k, which
/// vanishes at a critical angle.
/// \see L. B. Felsen, N. Marcuvitz, *Radiation and Scattering of Waves*, ch. 2 (line form
///      of the field equations; chapter from memory). The scaled march is derived here.

#pragma once

#include <complex>
#include <vector>

namespace torsowave::solver {

enum class WavePolarisation {
  te,  ///< E along z, across the plane of incidence: mode TMz of a slice
  tm   ///< H along z, across the plane of incidence: mode TEz of a slice
};

/// How a field runs along the layers.
struct TransverseWave {
  WavePolarisation polarisation = WavePolarisation::te;
  double wavenumber = 0.0;  ///< k_t [rad/m], real
};

/// Tangential fields.
struct LineFields {
  std::complex<double> u;  ///< tangential E [V/m]
  std::complex<double> v;  ///< tangential H, signed so that 1/2 Re(u v*) is the flux
                           ///< along +s [A/m]
  [[nodiscard]] double flux() const noexcept { return 0.5 * (u * std::conj(v)).real(); }
};

/// What a wave of given k_t meets in one medium.
struct LineMedium {
  bool conductor = false;     ///< perfect; the rest is unused
  std::complex<double> k;     ///< [rad/m]
  std::complex<double> a;     ///< [ohm/m]
  std::complex<double> b;     ///< [S/m]
  double heat = 0.0;          ///< w eps0 (-Im eps) [S/m]
  double normal_ratio = 0.0;  ///< |normal E|^2/|V|^2 [ohm^2], 0 in TE

  [[nodiscard]] std::complex<double> admittance() const { return b / k; }
};

/// \param eps  relative permittivity [1], Im eps <= 0
[[nodiscard]] LineMedium line_medium(std::complex<double> eps, double frequency,
                                     const TransverseWave& wave);

/// A stretch of one medium.
struct LineStretch {
  LineMedium medium;
  double length = 0.0;  ///< [m]
};

/// Everything on one side of a source, as the source's field fills it.
class Line {
public:
  /// \param stretches  from the source outwards, each of finite length
  /// \param end        the half-space behind them
  Line(const std::vector<LineStretch>& stretches, const LineMedium& end);

  /// The fields at s = 0 up to a common factor, |u| and eta0 |v| at most 1.
  [[nodiscard]] const LineFields& shape() const noexcept { return shape_; }

  /// Sets the factor: the fields at s = 0 become `factor` times shape().
  void scale(std::complex<double> factor);

  [[nodiscard]] LineFields at(double s) const;
  [[nodiscard]] double length() const noexcept;  ///< of all stretches [m]

  /// Power turned to heat between two places, 0 <= from <= to <= infinity [W/m^2]: the
  /// closed integral of w eps0 (-Im eps) |E|^2/2, no difference of fluxes.
  [[nodiscard]] double heat(double from, double to) const;

private:
  /// Fields at the far face are `amplitude` exp(-alpha length) times `far`.
  struct Part {
    LineMedium medium;
    double start = 0.0;   ///< s of the near face [m]
    double length = 0.0;  ///< [m]
    LineFields far;
    std::complex<double> amplitude;
    [[nodiscard]] LineFields at(double from_start) const;
    [[nodiscard]] double heat(double from, double to) const;
  };

  std::vector<Part> parts_;
  LineMedium end_;
  LineFields end_near_;  ///< at the near face of the end
  LineFields shape_;
};

/// The field in the half-space that a source field comes from: an incident and a
/// reflected wave that make up `face` at s = 0, at the distance s before the face.
[[nodiscard]] LineFields before_face(const LineMedium& medium, const LineFields& face,
                                     double s);

}  // namespace torsowave::solver
