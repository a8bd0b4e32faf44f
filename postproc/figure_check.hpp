/// \file
/// \brief What a figure needs of a result, checked before anything is drawn.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "postproc/result.hpp"

namespace torsowave::postproc {

/// \throws std::invalid_argument  `have` values of `what` where `want` are needed.
void require_size(std::string_view what, std::size_t have, std::size_t want);

/// Labels fill the grid and each one names a tissue.
/// \throws std::invalid_argument
void require_tissues(const Result& result);

/// \throws std::invalid_argument  The result has no such frequency; names those it has.
void require_frequency(const Result& result, std::size_t frequency);

/// Cells of the slice.
[[nodiscard]] std::size_t cell_count(const GridInfo& grid) noexcept;

/// Title of the run, mode and cell size, for the line below a figure's title.
[[nodiscard]] std::string describe(const Result& result);

}  // namespace torsowave::postproc
