/// \file
/// \brief What `torsowave link --coverage` does.

#pragma once

#include "app/link_case.hpp"

namespace torsowave::app {

/// Runs, prints, and stores coverage.h5, coverage.csv and a picture for each direction
/// and frequency, if there is a folder. \return  exit code: 0, or 1 if a direct run is
/// beyond coverage_limit_db \throws scenarios::InputError, postproc::WriteError,
/// Interrupted
[[nodiscard]] int run_coverage(const LinkOptions& options);

}  // namespace torsowave::app
