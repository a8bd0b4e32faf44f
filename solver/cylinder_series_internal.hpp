/// \file
/// \brief Sums over the orders: fields on a circle, far field, powers.
///
/// With `inner` and `outer` of cylinder_modes_internal.hpp, the source's `outgoing` O_n
/// and `regular` R_n in medium s, and D the modes' wronskian, the body adds in medium s
///   p_s [ (inner.j outer.j O_n + inner.h outer.j R_n) J_n
///       + (inner.h outer.j O_n + inner.h outer.h R_n) H_n ]/D,
/// farther out (m > s) the whole field is p_s (inner_s.j O_n + inner_s.h R_n)/D times
/// outer_m, farther in p_s (outer_s.j O_n + outer_s.h R_n)/D times inner_m: Green's
/// function inner(rho_<) outer(rho_>) without the line source's own J_n(rho_<)
/// H_n(rho_>). No difference of nearly equal numbers is left.

#pragma once

#include <vector>

#include "solver/cylinder_excitation_internal.hpp"

namespace torsowave::solver::cylinder {

/// log2 of bounds of a magnitude.
struct Size {
  double log2_most;
  double log2_least;
};

/// Decides where a sum may end.
class Remainder {
public:
  /// \param settled  first order at which the ratio of terms may be trusted
  /// \param log2_ratio  of the ratio that terms tend to, or a bound of it
  /// \param depth  wanted distance of the remainder below the largest term, in bits
  Remainder(long settled, double log2_ratio, double depth);

  /// Takes the orders n and -n together; true if the sum may end here.
  [[nodiscard]] bool may_end(Size term);
  /// log2 of the bound of what was left out.
  [[nodiscard]] double log2_bound() const noexcept { return bound_; }
  /// log2 of the largest term, at least.
  [[nodiscard]] double log2_largest() const noexcept { return largest_; }

private:
  long settled_;
  double ratio_;
  double depth_;
  long n_ = 0;
  double last_ratio_ = 0.0;
  double last_ = 0.0;
  double most_;
  double largest_;
  double bound_;
};

/// A sum, and log2 of its largest term at least: what a zero is measured by.
struct Sum {
  Ball value;
  double log2_largest = 0.0;
};

/// Everything about one body, source and frequency at one precision.
class Series {
public:
  /// \param bits  of the arithmetic
  /// \param depth  how far below the largest term a sum may be cut, in bits
  Series(Body body, Polarisation polarisation, double frequency, const Source& source,
         long bits, double depth);
  Series(const Series&) = delete;
  Series& operator=(const Series&) = delete;
  Series(Series&&) = delete;
  Series& operator=(Series&&) = delete;
  ~Series() = default;

  [[nodiscard]] Modes& modes() noexcept { return modes_; }
  [[nodiscard]] Excitation& excitation() noexcept { return excitation_; }
  [[nodiscard]] const Body& body() const noexcept { return body_; }

  /// A field, and log2 of the largest terms of psi and of its gradient at least.
  struct Point {
    Gradient field;
    double log2_psi;
    double log2_slope;
  };
  /// What the body adds in the source's medium, the whole field elsewhere.
  /// \param radius  of the same place [m]: which medium, and where terms tend to
  [[nodiscard]] Point series_at(const Polar& place, double radius);
  [[nodiscard]] Point whole_at(const Polar& place, double radius);

  /// Amplitude at infinity before exp(-j k r)/sqrt(r), r from the axis; scattered part of
  /// a plane wave.
  [[nodiscard]] Sum far_amplitude(const Ball& unit);

  /// Net power outward through a circle.
  [[nodiscard]] Sum flux(double radius);
  /// The same at the outer edge of a layer.
  [[nodiscard]] Sum flux_at_edge(std::size_t layer);
  [[nodiscard]] std::optional<Sum> delivered();
  [[nodiscard]] Sum scattered();
  [[nodiscard]] Sum extinguished();

private:
  struct Circle {
    Ball radius;
    std::vector<Ball> psi, plus, minus;  ///< orders 0, -1, 1, -2, 2, ...
    double log2_psi_rest = 0.0, log2_slope_rest = 0.0;
    double log2_psi = 0.0, log2_slope = 0.0;  ///< of the largest terms
  };

  [[nodiscard]] const Pair& coefficients(std::size_t medium, long n);
  [[nodiscard]] Pair solve(std::size_t medium, long n);
  /// The same with the source's own field, on one side of the source.
  [[nodiscard]] Pair whole(std::size_t medium, long n, double radius);
  [[nodiscard]] double log2_ratio(double radius) const;
  [[nodiscard]] Circle circle(const Ball& radius_ball, double radius);
  [[nodiscard]] Sum flux(std::size_t medium, double radius, BesselSequence& at);
  template <typename Term>
  [[nodiscard]] Sum sum_over_orders(double log2_ratio, Term term);

  Body body_;
  Modes modes_;
  Excitation excitation_;
  double depth_;
  std::vector<std::vector<Pair>> coefficients_;  ///< by medium, then 0, -1, 1, -2, 2, ...
  std::optional<Circle> circle_;
  std::vector<Ball> far_;  ///< orders 0, -1, 1, -2, 2, ...
  Sum far_remainder_;      ///< zero, with the bound of what was left out
};

}  // namespace torsowave::solver::cylinder
