/// \file
/// \brief The exact answer for planar layers: a plane wave from outside at any angle, or
/// a current sheet inside.
///
/// Layers across x between two half-spaces, exp(+j w t), fields ~ exp(-j k_t y), peak
/// phasors. Permittivities are plain numbers, so Cole-Cole tissue and fitted Debye media
/// serve alike. \see layered_line.hpp for equations and sources.

#pragma once

#include <complex>
#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "solver/layered_line.hpp"

namespace torsowave::solver {

/// Planar layers at one frequency. x counts from the first face, which parts the first
/// half-space from what follows it.
struct LayeredMedium {
  double frequency = 0.0;                 ///< [Hz]
  std::vector<std::complex<double>> eps;  ///< relative permittivity [1], Im <= 0: first
                                          ///< half-space, layers, last half-space
  std::vector<double> thickness;          ///< of the layers [m], > 0; two fewer than eps
  bool conductor_first = false;           ///< the half-space is a perfect conductor; its
  bool conductor_last = false;            ///< permittivity is then unused

  [[nodiscard]] std::size_t layers() const noexcept { return thickness.size(); }

  /// x of face 0 ... layers() [m].
  [[nodiscard]] double face(std::size_t number) const;

  /// Index into eps of what lies at x [m]; on a face the medium right of it.
  [[nodiscard]] std::size_t at(double x) const;
};

/// The same layers seen from the other side.
[[nodiscard]] LayeredMedium reversed(const LayeredMedium& medium);

/// k_t = Re(k) sin(angle) [rad/m], k the wavenumber in the medium that the wave comes
/// from. Without loss there, `angle` is the angle of incidence. With loss it is only a
/// label of the real k_t: the amplitude of such a wave falls along x alone, and its
/// planes of phase stand at nearly that angle.
/// \param eps    of the first medium [1]
/// \param angle  from the normal [rad], 0 <= angle < pi/2
/// \throws std::invalid_argument  The angle is outside that range.
[[nodiscard]] double transverse_wavenumber(std::complex<double> eps, double frequency,
                                           double angle);

/// Fields at a place; the components that a polarisation lacks are not named.
struct LayerFields {
  std::complex<double> tangential_e;  ///< TE: Ez; TM: Ey [V/m]
  std::complex<double> tangential_h;  ///< TE: Hy; TM: Hz [A/m]
  std::complex<double> normal_e;      ///< TE: 0; TM: Ex [V/m]
  double flux = 0.0;                  ///< time-averaged power along +x [W/m^2]

  [[nodiscard]] double e_magnitude() const;  ///< sqrt(|Ex|^2 + |Ey|^2 + |Ez|^2) [V/m]
};

/// The two sides of a source.
struct SourceSides {
  double source = 0.0;       ///< x of it; the first face for a plane wave [m]
  Line right;                ///< towards +x
  std::optional<Line> left;  ///< towards -x; empty: incident and reflected wave
};

/// A solution, at every place; x in [m] from the first face.
class LayeredField {
public:
  LayeredField(LayeredMedium medium, const TransverseWave& wave, SourceSides sides)
      : medium_(std::move(medium)), wave_(wave), sides_(std::move(sides))
  {
  }

  /// On a face the medium right of it; zero in a perfect conductor.
  [[nodiscard]] LayerFields at(double x) const;

  /// Power turned to heat in from <= x <= to [W/m^2], by a closed integral of
  /// w eps0 (-Im eps) |E|^2/2 and not as a difference of fluxes. `to` may be infinite.
  /// Under a plane wave only x > 0 counts: what the incident wave loses on its way is not
  /// the layers' doing.
  [[nodiscard]] double heat(double from, double to) const;

  [[nodiscard]] const LayeredMedium& medium() const noexcept { return medium_; }
  [[nodiscard]] const TransverseWave& wave() const noexcept { return wave_; }

private:
  LayeredMedium medium_;
  TransverseWave wave_;
  SourceSides sides_;
};

/// A plane wave from the first half-space.
///
/// The incident wave alone would have |E| = 1 V/m (peak) at the first face. Reflection
/// and transmission compare *tangential* electric fields there and at the last face; at
/// normal incidence both polarisations agree. (In TM the ratio of H is -reflection.)
///
/// In a lossy first medium incident and reflected power do not separate: the flux holds a
/// cross term of both waves. `entering` is the net flux through the first face and right
/// for any medium; `reflectance` is |reflection|^2, and 1 - reflectance - entering is the
/// cross term, zero without loss.
struct PlaneWaveAnswer {
  LayeredField field;                   ///< for the incident wave of 1 V/m
  std::complex<double> reflection{};    ///< of tangential E at the first face [1]
  std::complex<double> transmission{};  ///< tangential E at the last face over the
                                        ///< incident one at the first [1]
  double incident_flux = 0.0;  ///< of the incident wave alone, at the first face [W/m^2]
  double reflectance = 0.0;    ///< |reflection|^2 [1]
  double entering = 0.0;       ///< net flux through the first face over incident_flux [1]
  double transmittance = 0.0;  ///< flux into the last medium over incident_flux [1]
  std::vector<double> absorbed{};  ///< heat in each layer over incident_flux [1]
};

/// \throws std::invalid_argument  Sizes disagree, a value is not finite, a permittivity
///         is not passive, the wave comes from a conductor or does not travel there.
[[nodiscard]] PlaneWaveAnswer solve_plane_wave(const LayeredMedium& medium,
                                               const TransverseWave& wave);

/// A sheet of surface current of 1 A/m (peak) across x: along z (TE) or y (TM).
struct CurrentSheetAnswer {
  LayeredField field;            ///< for 1 A/m
  double delivered = 0.0;        ///< power out of the sheet [W/m^2]
  double delivered_left = 0.0;   ///< the part that starts towards -x [W/m^2]
  double delivered_right = 0.0;  ///< towards +x [W/m^2]
  double into_first = 0.0;       ///< power that the first half-space takes for good: what
                                 ///< leaves to infinity or is absorbed in it [W/m^2]
  double into_last =
      0.0;  ///< likewise. delivered = into_first + sum absorbed + into_last
  std::vector<double> absorbed{};  ///< heat in each layer [W/m^2]
};

/// \param x  where the sheet is [m]; in a layer, on a face or in a half-space
/// \throws std::invalid_argument  As above, or the sheet is inside a conductor.
[[nodiscard]] CurrentSheetAnswer solve_current_sheet(const LayeredMedium& medium,
                                                     const TransverseWave& wave,
                                                     double x);

/// The depth at which the power flux along +x has fallen `decibel` below
/// `reference_flux`, to rounding; empty where it never does. The flux of a source-free
/// passive stack falls with x everywhere, so there is one such place at most; 0 where the
/// flux through the first face is that low already.
[[nodiscard]] std::optional<double> depth_of_loss(const LayeredField& field,
                                                  double reference_flux, double decibel);

}  // namespace torsowave::solver
