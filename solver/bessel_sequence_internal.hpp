/// \file
/// \brief Bessel functions of one argument and all orders, as balls.

#pragma once

#include <cstddef>
#include <vector>

#include "solver/ball_internal.hpp"

namespace torsowave::solver {

/// J_n(z) and H_n^(2)(z) for n = ..., -1, 0, 1, ..., each computed once, with the bits of
/// z.
///
/// Two orders of a block are evaluated directly, the others follow from the recurrence
/// C_(n-1) + C_(n+1) = (2n/z) C_n (DLMF 10.6.1) in its stable direction, J downward and H
/// upward. Above |z|, where H grows, J_(n+1) H_n - J_n H_(n+1) = -2j/(pi z) (DLMF 10.5.5)
/// gives it from J: an error of H_n reaches H_(n+1) by the factor (z/2n)^2.
/// -pi < arg z <= pi/2, where the wavenumbers of passive media are.
class BesselSequence {
public:
  explicit BesselSequence(Ball z);

  [[nodiscard]] const Ball& argument() const noexcept { return z_; }

  [[nodiscard]] Ball j(long n);
  /// Not at z = 0.
  [[nodiscard]] Ball h(long n);
  /// Derivatives with respect to z.
  [[nodiscard]] Ball j_slope(long n);
  [[nodiscard]] Ball h_slope(long n);

private:
  void extend_j();
  void extend_h();

  Ball z_;
  Ball twice_inverse_;  ///< 2/z
  Ball wronskian_;      ///< 2j/(pi z)
  std::vector<Ball> j_;
  std::vector<Ball> h_;
  std::size_t last_seed_of_h_ = 0;
};

}  // namespace torsowave::solver
