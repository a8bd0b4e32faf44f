/// \file
/// \brief The linear part of the Debye fit: one medium on given relaxation times
/// (private).

#pragma once

#include <array>
#include <complex>
#include <cstddef>
#include <span>
#include <vector>

#include "materials/nnls.hpp"

namespace torsowave::materials {

/// The unknowns, all >= 0: eps_inf - 1, sigma/(eps0 w_mid), then the strengths.
using DebyeUnknowns = std::array<double, max_unknowns>;

/// The functions of frequency that a Debye medium on given times is a sum of.
///
/// eps - 1 = x_0 + x_1 (-j w_mid/w) + sum_k x_(2+k) / (1 + j w tau_k), w_mid the
/// geometric middle of the frequencies.
class DebyeBasis {
public:
  /// \param frequencies  [Hz], each > 0; kept by reference, must outlive the basis
  /// \param times        tau_k [s], each > 0, at most four
  DebyeBasis(std::span<const double> frequencies, std::span<const double> times);

  [[nodiscard]] std::size_t samples() const noexcept { return frequencies_.size(); }
  [[nodiscard]] std::size_t unknowns() const noexcept { return unknowns_; }
  [[nodiscard]] std::span<const double> frequencies() const noexcept
  {
    return frequencies_;
  }

  /// Function `unknown` at every sample.
  [[nodiscard]] std::span<const std::complex<double>> function(std::size_t unknown) const
  {
    return std::span{values_}.subspan(unknown * samples(), samples());
  }

  /// sigma [S/m] of the unknown x_1.
  [[nodiscard]] double conductivity(double unknown) const noexcept;

private:
  std::span<const double> frequencies_;
  std::size_t unknowns_;
  double omega_mid_;
  std::vector<std::complex<double>> values_;
};

/// A fit and how far it is from its target.
struct RelativeFit {
  DebyeUnknowns unknowns{};
  std::vector<double> errors;  ///< |eps_fit - eps| / |eps| at each sample
  double worst = 0.0;          ///< the largest of them
  std::size_t worst_sample = 0;
};

/// Non-negative least squares on the relative error of real and imaginary part.
/// \param targets  eps [1] at the samples of the basis, none of them zero
/// \param weights  of the squared error at each sample, >= 0
[[nodiscard]] RelativeFit least_squares_fit(const DebyeBasis& basis,
                                            std::span<const std::complex<double>> targets,
                                            std::span<const double> weights);

/// The same, re-weighted until the largest relative error is as small as it gets.
///
/// Lawson's algorithm: weights grow in proportion to the error; the weighted rms error is
/// a lower bound of the least maximum, so the distance to it is known. \see C. L. Lawson,
/// thesis, UCLA, 1961 (from memory); J. R. Rice, K. H. Usow, Math. Comp. 22
///      (1968) 118-127 (from memory).
[[nodiscard]] RelativeFit least_maximum_fit(
    const DebyeBasis& basis, std::span<const std::complex<double>> targets);

}  // namespace torsowave::materials
