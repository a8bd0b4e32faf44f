/// \file
/// \brief Coverage as text and comma-separated values.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "app/link_coverage.hpp"

namespace torsowave::app {

/// What a direct run may differ by [dB].
inline constexpr double coverage_limit_db = 0.1;

/// Where the link closes: by direction and frequency, and by tissue; of several
/// directions the tissues of all together.
[[nodiscard]] std::string coverage_text(const postproc::CoverageResult& result,
                                        std::size_t most_columns);

/// Directions in fact used, what the map stands on, and the caution.
/// \param brief  the caution alone
[[nodiscard]] std::string coverage_notes(const postproc::CoverageResult& result,
                                         std::size_t most_columns, bool brief);

/// Map and direct run, place by place, and the largest difference.
[[nodiscard]] std::string check_text(const LinkCoverage& coverage,
                                     const std::vector<CoverageCheck>& checks,
                                     std::size_t most_columns);

/// Whether every difference is within coverage_limit_db.
[[nodiscard]] bool agrees(const std::vector<CoverageCheck>& checks);

/// A row for each direction, frequency and tissue, SI units, full precision.
[[nodiscard]] std::string coverage_csv(const postproc::CoverageResult& result);

}  // namespace torsowave::app
