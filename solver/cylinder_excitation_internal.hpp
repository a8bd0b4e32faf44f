/// \file
/// \brief Sources of concentric layers: their own field, and what they put into an order.
///
/// A line source or dipole in medium s is a multipole about its place r_s,
///   psi = sum_l c_l H_l(k_s R) exp(j l Theta),  l = -1, 0, 1,
/// R and Theta being the distance and direction from r_s. Line, TMz (1 A) and TEz (1 V):
///   (lap + k^2) Ez = j w mu0 I delta,  (lap + k^2) Hz = j w eps K delta,  hence
///   c_0 = -(w mu0/4) I,  c_0 = -(w eps/4) K.
/// Dipole of moment P: (lap + k^2) Hz = -(curl P delta)_z, so Hz is the derivative of
/// Green's function G = -(j/4) H_0(k R) along the source's place, and of the observer's
/// with the sign turned:
///   Hz = Py dG/dx - Px dG/dy = (j k/4) H_1(k R) (Py cos Theta - Px sin Theta),
///   c_1 = -(k/8)(Px - j Py),  c_(-1) = -(k/8)(Px + j Py).
/// By Graf's addition theorem (DLMF 10.23.7) the same field about the axis has
///   sum_l c_l J_(n-l)(k rho_s) exp(-j (n-l) phi_s) before H_n(k rho) exp(j n phi)
///   outside rho_s, and the same sum with H_(n-l) before J_n(k rho) exp(j n phi) inside.
/// A plane wave has E j^(-n) exp(-j n phi_i) before J_n everywhere (DLMF 10.12.2).

#pragma once

#include <array>
#include <optional>

#include "solver/cylinder_modes_internal.hpp"

namespace torsowave::solver::cylinder {

/// psi and its gradient.
struct Gradient {
  Ball psi;
  Ball ddx;
  Ball ddy;
};

/// A place as seen from another, x + j y, apart into distance and unit vector.
struct Polar {
  Ball radius;
  Ball unit;  ///< 1 if the radius is 0
};

[[nodiscard]] Polar polar(const Ball& displacement);

/// `to` as seen from `from`, x + j y [m].
[[nodiscard]] Ball displacement(geometry::Point from, geometry::Point to, long bits);

/// Which medium holds this distance from the axis [m]; an interface belongs to the inner.
[[nodiscard]] std::size_t medium_at(const Body& body, double radius);
[[nodiscard]] double distance(geometry::Point a, geometry::Point b);

class Excitation {
public:
  /// The source has been checked.
  Excitation(const Body& body, const Source& source, const Modes& modes);

  [[nodiscard]] bool is_wave() const noexcept { return !at_.has_value(); }
  [[nodiscard]] std::size_t medium() const noexcept { return medium_; }
  /// Distance of the source from the axis [m].
  [[nodiscard]] double radius() const noexcept { return radius_; }
  /// Before J_n exp(j n phi) for rho < rho_s; not for a source on the axis.
  [[nodiscard]] Ball regular(long n);
  /// Before H_n exp(j n phi) for rho > rho_s; zero for a plane wave.
  [[nodiscard]] Ball outgoing(long n);

  /// Places are seen from the axis.
  [[nodiscard]] Gradient own_field(const Ball& place) const;
  /// The source's own amplitude before exp(-j k r)/sqrt(r), r from the axis.
  [[nodiscard]] Ball own_far_amplitude(const Ball& unit) const;
  /// Where the source is, and Bessel functions there; not for a plane wave.
  [[nodiscard]] const Polar& place() const { return place_.value(); }
  [[nodiscard]] BesselSequence& at_place() { return at_.value(); }

  /// What the source delivers if its own medium is everywhere; absent where it has no
  /// limit as the source shrinks.
  [[nodiscard]] std::optional<Ball> own_power() const;
  /// What it delivers against a field at its place, -(1/2) Re(E J*) or -(1/2) Re(H* M).
  [[nodiscard]] Ball power_against(const Gradient& field) const;

private:
  void start_wave(const Body& body, const PlaneWave& wave);
  void start_line();
  void start_dipole(const Dipole& dipole);

  const Modes* modes_;
  std::size_t medium_;
  double radius_ = 0.0;
  bool lossless_ = true;
  bool is_dipole_ = false;
  std::array<Ball, 3> multipole_;  ///< c_(-1), c_0, c_1
  Ball moment_;                    ///< Px + j Py
  Ball amplitude_;                 ///< of the plane wave on the axis
  Ball towards_;                   ///< exp(j phi_i)
  std::optional<Polar> place_;
  std::optional<BesselSequence> at_;
};

}  // namespace torsowave::solver::cylinder
