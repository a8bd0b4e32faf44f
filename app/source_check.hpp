/// \file
/// \brief Whether a current given by samples holds the frequencies that are asked for.

#pragma once

#include <optional>
#include <vector>

#include "solver/waveform.hpp"

namespace torsowave::app {

/// The first of the frequencies that the current as good as lacks: where its spectrum,
/// summed every `every` seconds as a run does, is more than 40 dB below the integral of
/// the current's absolute value, which no spectrum exceeds. Results are divided by it.
/// \return  Index; empty if all are there, or if the current lasts too long to tell.
[[nodiscard]] std::optional<std::size_t> missing_frequency(
    const solver::Waveform& waveform, double every,
    const std::vector<double>& frequencies);

}  // namespace torsowave::app
