/// \file
/// \brief SAR of a run in words: the largest values, and published figures beside them.

#pragma once

#include <cstddef>
#include <string>

#include "postproc/result.hpp"

namespace torsowave::app {

/// Empty where no frequency has a SAR. Without the caution, which stands once at the end
/// of a report.
[[nodiscard]] std::string sar_text(const postproc::Result& result,
                                   std::size_t most_columns);

}  // namespace torsowave::app
