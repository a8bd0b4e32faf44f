/// \file
/// \brief From balls to doubles with a certified error, or to nothing.

#pragma once

#include <optional>

#include "solver/cylinder_series_internal.hpp"

namespace torsowave::solver::cylinder {

/// Each is absent if its bound is above certified_error. What may be zero, and is this
/// many bits below the largest term of its sum (`zero_below`), is 0.
[[nodiscard]] std::optional<Field> certified(Series& series, std::size_t medium,
                                             const Series::Point& point,
                                             double zero_below);
[[nodiscard]] std::optional<double> certified(const Sum& power, double zero_below);
[[nodiscard]] std::optional<Powers> certified_powers(Series& series, double zero_below);
/// \param frequency  [Hz]
[[nodiscard]] std::optional<FarField> certified_far_field(Series& series,
                                                          double frequency, double angle,
                                                          double zero_below);

/// True if waves go out for good: no loss outside, and a positive permittivity.
[[nodiscard]] bool radiates(const Body& body);

}  // namespace torsowave::solver::cylinder
