/// \file
/// \brief Radial solutions of concentric layers, order by order.
///
/// In medium m the order n of psi is a J_n(k_m rho) + b H_n(k_m rho). Two solutions span
/// all: `inner` fulfils the condition on the axis or the conductor, `outer` is H_n
/// outside. Each is carried through the interfaces, where psi = U and p dpsi/drho = S are
/// continuous, with the Wronskian J_n H_n' - J_n' H_n = -2j/(pi z) (DLMF 10.5.5):
///   a = (U H_n' - s H_n)/w,  b = (s J_n - U J_n')/w,  s = S/(p k),  w = -2j/(pi z).

#pragma once

#include <cstddef>
#include <deque>
#include <vector>

#include "solver/bessel_sequence_internal.hpp"
#include "solver/layered_cylinder.hpp"

namespace torsowave::solver::cylinder {

/// a J_n + b H_n.
struct Pair {
  Ball j;
  Ball h;
};

/// The two solutions of order |n| in every medium, and what joins them.
struct Order {
  std::vector<Pair> inner;
  std::vector<Pair> outer;
  /// p (inner.j outer.h - inner.h outer.j), the same in all media.
  Ball wronskian;
};

class Modes {
public:
  /// Everything is computed with `bits`; the body has been checked.
  Modes(const Body& body, Polarisation polarisation, double frequency, long bits);

  [[nodiscard]] long bits() const noexcept { return bits_; }
  [[nodiscard]] Polarisation polarisation() const noexcept { return polarisation_; }
  /// Media, the outer one last.
  [[nodiscard]] std::size_t count() const noexcept { return k_.size(); }
  [[nodiscard]] const Ball& k(std::size_t medium) const { return k_.at(medium); }
  /// p: 1 (TMz) or 1/eps_r (TEz).
  [[nodiscard]] const Ball& weight(std::size_t medium) const { return p_.at(medium); }
  /// omega mu0 (TMz) or omega eps0 (TEz): flux = Im(psi (p dpsi/drho)*)/(2 omega_kappa).
  [[nodiscard]] const Ball& omega_kappa() const noexcept { return omega_kappa_; }
  /// At the outer edge of a layer, on its inner side.
  [[nodiscard]] BesselSequence& edge(std::size_t layer) { return inside_.at(layer); }
  /// Beyond this order terms fall monotonically: no |k rho| of an interface is larger.
  [[nodiscard]] long settled() const noexcept { return settled_; }
  [[nodiscard]] const Order& order(long n);

private:
  [[nodiscard]] Order solve(long n);
  [[nodiscard]] Pair on_conductor(long n);

  long bits_;
  Polarisation polarisation_;
  std::vector<Ball> k_;
  std::vector<Ball> p_;
  Ball omega_kappa_;
  std::vector<BesselSequence> core_;     ///< at the conductor, if there is one
  std::vector<BesselSequence> inside_;   ///< at k_m a_m
  std::vector<BesselSequence> outside_;  ///< at k_(m+1) a_m
  long settled_ = 0;
  std::deque<Order> orders_;
};

}  // namespace torsowave::solver::cylinder
