/// \file
/// \brief The main figures of a run, for people.

#pragma once

#include <cstddef>
#include <string>

#include "postproc/result.hpp"

namespace torsowave::app {

/// Powers, the tissues that absorb most, how the run went, where the results are, and the
/// caution.
[[nodiscard]] std::string run_text(const postproc::Result& result,
                                   const std::string& folder, std::size_t most_columns);

}  // namespace torsowave::app
