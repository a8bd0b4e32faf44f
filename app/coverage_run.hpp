/// \file
/// \brief What `torsowave link --coverage` does once the link is known.

#pragma once

#include <string>
#include <vector>

#include "app/link_coverage.hpp"

namespace torsowave::app {

/// How coverage is run and where it goes.
struct CoverageOptions {
  bool verify = false;  ///< ten direct runs follow
  std::string folder;   ///< empty: nothing is stored
  bool force = false;   ///< replace an earlier coverage there
  bool quiet = false;   ///< no progress, no notes
  int threads = 0;      ///< 0: all cores
};

/// Runs, prints, and stores coverage.h5, coverage.csv and a picture for each direction
/// and frequency. \param request  directions and checks are taken from the options
/// \return  exit code: 0, or 1 if a direct run is beyond coverage_limit_db
/// \throws scenarios::InputError, postproc::WriteError, Interrupted
[[nodiscard]] int run_coverage(const RunPlan& with_implant, CoverageRequest request,
                               const CoverageOptions& options);

}  // namespace torsowave::app
