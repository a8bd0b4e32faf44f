/// \file
/// \brief All materials of a scenario as Debye media with the same relaxation times.

#pragma once

#include <complex>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <vector>

#include "materials/tissue.hpp"

namespace torsowave::materials {

/// What to fit. \see fit_debye.
struct FitRequest {
  double band_from = 0.3e9;    ///< [Hz], > 0
  double band_to = 6.0e9;      ///< [Hz], > band_from
  std::optional<int> poles{};  ///< 0 to 4; empty: the fewest that keep `max_error`
  double max_error = 0.01;     ///< bound on |eps_fit - eps| / |eps| over the band
};

/// One material on the shared relaxation times.
struct FittedMedium {
  std::string tissue;
  bool conductor = false;           ///< perfect conductor: the numbers below are unused
  double eps_inf = 1.0;             ///< [1], >= 1
  double conductivity = 0.0;        ///< sigma [S/m], >= 0
  std::vector<double> strengths;    ///< delta_k [1], >= 0, one for each shared time
  double max_relative_error = 0.0;  ///< max over the band of |eps_fit - eps| / |eps|
  double worst_frequency = 0.0;     ///< [Hz] where that maximum lies
};

/// Whether the medium takes power out of a wave: not a perfect conductor, nor one without
/// relaxation and conductivity.
[[nodiscard]] bool has_losses(const FittedMedium& medium) noexcept;

/// The media of a scenario and the relaxation times that they share.
struct DebyePalette {
  std::vector<double> relaxation_times;  ///< tau_k [s], ascending; at most 4
  std::vector<FittedMedium> media;       ///< in the order of the tissues given
};

/// The bound cannot be met: names the tissue, the frequency and the best error.
class FitRefused : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Fits all tissues at once.
///
/// For given times this is linear with non-negativity (NNLS on the relative error of the
/// real and imaginary part over the band, re-weighted towards the least maximum); the
/// times are the only non-linear unknowns, searched once for all tissues. Deterministic:
/// the same input gives the same result to the last bit. Tissues with the same model cost
/// nothing more; perfect conductors are passed through. \throws FitRefused  No K allowed
/// keeps the bound. The message names the tissue, the
///         frequency, the best error, its K, and what to change.
/// \throws std::invalid_argument  The band or bound makes no sense.
[[nodiscard]] DebyePalette fit_debye(std::span<const Tissue> tissues,
                                     const FitRequest& request);

/// One medium on given times: non-negative least squares on the relative error,
/// re-weighted towards the least maximum, as in `fit_debye`. Any targets will do; where
/// they are not those of a passive medium with eps_inf >= 1, the nearest such medium is
/// returned.
///
/// \param frequencies  [Hz]; `targets` holds the relative permittivity wanted at each.
/// \param relaxation_times  tau_k [s], at most four.
/// \return  strengths, eps_inf >= 1 and conductivity; `max_relative_error` over the
/// samples. A
///         target that is flat to rounding gets strengths that are exactly zero.
/// \throws std::invalid_argument  Sizes differ, or a value is not finite or not positive
/// (for
///         targets: in absolute value).
[[nodiscard]] FittedMedium fit_on_times(std::span<const double> frequencies,
                                        std::span<const std::complex<double>> targets,
                                        std::span<const double> relaxation_times);

/// Relative permittivity [1] of a fitted medium at `frequency` [Hz] in continuous time.
/// \throws std::invalid_argument  Bad frequency, a perfect conductor, or times that are
/// not its
///         own by number.
[[nodiscard]] std::complex<double> relative_permittivity(
    const FittedMedium& medium, std::span<const double> relaxation_times,
    double frequency);

}  // namespace torsowave::materials
