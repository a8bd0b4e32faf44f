/// \file
/// \brief Non-negative least squares for a handful of unknowns (private).

#pragma once

#include <array>
#include <cstddef>

namespace torsowave::materials {

/// Most unknowns of a Debye fit: eps_inf, sigma and four strengths.
inline constexpr std::size_t max_unknowns = 6;

/// A square system, as a QR factorisation leaves it: `unknowns` rows and columns.
struct SmallSystem {
  std::size_t unknowns = 0;
  std::array<double, max_unknowns * max_unknowns> matrix{};  ///< column after column
  std::array<double, max_unknowns> right{};
};

/// The x >= 0 that minimises |A x - b|; unused places are zero.
///
/// A column that the others already span gets no weight, so a singular system is no
/// error. \see C. L. Lawson, R. J. Hanson, Solving Least Squares Problems, Prentice-Hall,
/// 1974,
///      algorithm NNLS (23.10) (number from memory).
[[nodiscard]] std::array<double, max_unknowns> non_negative_least_squares(
    const SmallSystem& system);

}  // namespace torsowave::materials
