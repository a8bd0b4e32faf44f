/// \file
/// \brief Exact fields of concentric circular layers: plane wave, line source, dipole.
///
/// The reference for full-wave results in round bodies, and an answer in itself. Fields
/// vary as exp(+j w t), phasors are peak values, eps_r = eps' - j eps'' with eps'' >= 0,
/// media are not magnetic, powers are per metre along z. With psi = Ez and p = 1 (TMz) or
/// psi = Hz and p = 1/eps_r (TEz)
///   div(p grad psi) + (w/c)^2 (p eps_r) psi = source,
/// psi and p dpsi/drho continuous, so that for each order n of exp(j n phi) two
/// solutions, one regular on the axis and one outgoing, give Green's function of the
/// layers. \see R. F. Harrington, *Time-Harmonic Electromagnetic Fields*, 1961, ch. 5; C.
/// A.
///      Balanis, *Advanced Engineering Electromagnetics*, ch. 11 (both from memory);
///      E. J. Rothwell, M. J. Cloud, *Electromagnetics*, CRC Press, 2001, sec. 4.11.
///      Derivation: docs/numerics.md, "Concentric cylinders".

#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <stdexcept>
#include <variant>
#include <vector>

#include "geometry/shape.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::solver::cylinder {

/// One ring, from the ring before it (or the conductor, or the axis) outward.
struct Layer {
  double outer_radius = 0.0;         ///< [m]
  std::complex<double> eps_r = 1.0;  ///< relative permittivity [1], Im <= 0, not 0
};

/// A round body in a medium without end.
struct Body {
  std::vector<Layer> layers = {};  ///< innermost first, radii rising; none: one medium
  std::complex<double> eps_outside = 1.0;
  double conductor_radius = 0.0;  ///< perfectly conducting core [m]; 0: none
  geometry::Point centre = {};    ///< [m]
};

/// A plane wave from outside with |E| = 1 V/m and phase 0 at the origin of coordinates.
/// TMz: Ez = exp(-j k.r). TEz: Hz = exp(-j k.r)/eta, eta of the outer medium.
struct PlaneWave {
  double direction = 0.0;  ///< it travels towards [rad]
};

/// TMz: a line current Iz = 1 A. TEz: a magnetic line current of 1 V along +z, curl E =
/// -j w mu0 H - M.
struct LineSource {
  geometry::Point position;  ///< [m], in any layer or outside
};

/// A line of in-plane electric dipoles, 1 A m per metre of z; TEz only.
struct Dipole {
  geometry::Point position;  ///< [m], in any layer or outside
  double direction = 0.0;    ///< of the moment [rad]
};

using Source = std::variant<PlaneWave, LineSource, Dipole>;

/// Fields at a point, each with its error bound.
struct Field {
  std::complex<double> z;  ///< Ez [V/m] (TMz) or Hz [A/m] (TEz)
  std::complex<double> x;  ///< Hx [A/m] or Ex [V/m]
  std::complex<double> y;  ///< Hy [A/m] or Ey [V/m]
  /// Bound of |error of z|/|z| and of |error of (x, y)|/|(x, y)|, whichever is larger.
  double relative_error = 0.0;
};

/// What reaches infinity in one direction: psi -> amplitude exp(-j k r)/sqrt(r), r from
/// the origin of coordinates. Of a plane wave the scattered part.
struct FarField {
  std::complex<double> amplitude;  ///< [V m^-1/2] (TMz) or [A m^-1/2] (TEz)
  double intensity = 0.0;          ///< U [W/m/rad]
  double scattering_width = 0.0;   ///< lim 2 pi r |psi_s/psi_i|^2 [m]; 0 for a source
  double relative_error = 0.0;     ///< of the amplitude, bound
};

/// Powers [W/m]. What physics leaves undefined is absent.
struct Powers {
  /// By the source. Absent for a plane wave, and for a TEz source in a lossy layer: there
  /// the loss around a point-like source has no finite limit.
  std::optional<double> delivered;
  /// Turned to heat, layer by layer; absent where `delivered` is absent and the source
  /// is.
  std::vector<std::optional<double>> absorbed;
  /// Through the outermost interface outward; negative if the source is outside.
  double leaving = 0.0;
  /// To infinity, from a source; the outer medium is lossless.
  std::optional<double> radiated;
  /// Carried by the scattered wave, and taken from the plane wave in all; likewise.
  std::optional<double> scattered, extinguished;
  /// Bound of the relative error of each of the above.
  double relative_error = 0.0;
};

/// Every result is good to this relative error at least.
inline constexpr double certified_error = 1e-13;

/// The bound of a result stayed above certified_error.
class AccuracyNotAttained : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Fields and powers of one source and one body at one frequency.
///
/// Sums run in ball arithmetic, which carries a rigorous bound of all rounding. A sum
/// ends where a geometric series of the ratio that successive terms have, or that they
/// tend to if it is larger (that of the static images), bounds the rest; the bound is
/// added to the result's. If certified_error is not met the sum is repeated with twice
/// the bits and half the (logarithmic) rest. Zero by symmetry is returned as 0.
///
/// Orders, and the last circle, are kept: many angles on one circle cost little. One
/// object serves one thread at a time.
///
/// \throws AccuracyNotAttained  (all but the constructor) A result was not certified: the
///         source or the point is so near to an interface that the sum has no end.
class Solution {
public:
  /// \param frequency  [Hz], > 0
  /// \throws std::invalid_argument  Radii that do not rise, a medium with gain or
  ///         eps_r = 0, a source on an interface or in the conductor, a dipole in TMz.
  Solution(const Body& body, Polarisation polarisation, double frequency,
           const Source& source);
  ~Solution();
  Solution(Solution&&) noexcept;
  Solution& operator=(Solution&&) noexcept;

  /// Total fields; those of the inner medium on an interface, zero in the conductor.
  /// \param point  [m]
  /// \throws std::invalid_argument  The point is the source.
  [[nodiscard]] Field at(geometry::Point point) const;

  /// The same on a circle about the body's centre, radius [m], angles [rad].
  [[nodiscard]] std::vector<Field> on_circle(double radius,
                                             std::span<const double> angles) const;

  /// What the body adds to the field that the source would have if its own medium (the
  /// outer one for a plane wave) were everywhere: the scattered field.
  /// \throws std::invalid_argument  The point is not in the source's medium.
  [[nodiscard]] Field scattered_at(geometry::Point point) const;

  /// \param angles  [rad]
  /// \throws std::domain_error  The outer medium has losses or is no place for waves.
  [[nodiscard]] std::vector<FarField> far_field(std::span<const double> angles) const;

  /// Net power outward [W/m] through a circle about the body's centre.
  /// \param radius  [m], > 0; not the source's
  [[nodiscard]] double power_through(double radius) const;

  [[nodiscard]] Powers powers() const;

private:
  class Levels;
  std::unique_ptr<Levels> levels_;
};

}  // namespace torsowave::solver::cylinder
