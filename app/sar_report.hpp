/// \file
/// \brief SAR of a run in words: the largest values, and published figures beside them.

#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "app/text_table.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Largest values at a point and over cubes or squares, and where; empty where no
/// frequency has a SAR. \see sar_peak_head()
[[nodiscard]] std::optional<TextTable> sar_peak_table(const postproc::Result& result);
[[nodiscard]] std::string sar_peak_head(const postproc::Result& result);

/// Published exposure figures beside the largest averages; empty where none applies.
/// \param result  with a SAR at every frequency
[[nodiscard]] std::optional<TextTable> sar_limit_table(const postproc::Result& result);

/// What sar_limit_table() says, and what it does not.
inline constexpr const char* sar_limit_head =
    "Published exposure figures beside the largest average of all frequencies; which "
    "side "
    "of a figure an estimate is on says nothing of compliance";

/// Empty where no frequency has a SAR. Without the caution, which stands once at the end
/// of a report.
[[nodiscard]] std::string sar_text(const postproc::Result& result,
                                   std::size_t most_columns);

}  // namespace torsowave::app
