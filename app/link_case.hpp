/// \file
/// \brief What `torsowave link` works on: a scenario that is run, or a stored result.

#pragma once

#include <string>
#include <vector>

#include "app/link_report.hpp"
#include "app/run_plan.hpp"
#include "postproc/result.hpp"
#include "scenarios/scenario.hpp"

namespace torsowave::app {

/// As written on the command line; empty: not given.
struct LinkOptions {
  std::string input;      ///< scenario, or folder of a result
  std::string link_file;  ///< whose section "link" is taken
  std::string folder;     ///< for what is written
  std::string csv;
  std::string distance;   ///< with unit
  std::string direction;  ///< with unit, or "best"; for a coverage several, by commas
  std::string lines;      ///< a frequency with unit
  int threads = 0;        ///< 0: all cores
  bool force = false;
  bool quiet = false;
  bool json = false;
  bool coverage = false;
  bool verify = false;  ///< with direct runs beside the coverage
};

/// A result with an implant's gain, and the scenario whose link is worked out on it. Of
/// the scenario of a stored result link and locations alone are set.
struct LinkCase {
  scenarios::Scenario scenario;
  postproc::Result result;
};

/// Reads the result of a folder, or runs a scenario, into LinkOptions::folder if there is
/// one.
/// \throws scenarios::InputError  There is no gain, the reader is inside the body, an
///         option has a problem: before anything runs.
/// \throws postproc::ReadError  The folder holds no result that can be read.
[[nodiscard]] LinkCase link_case(const LinkOptions& options);

/// The links of all frequencies.
/// \throws scenarios::InputError  What no link can be, at its line.
[[nodiscard]] LinkStudy study_of(const LinkOptions& options, const LinkCase& one);

/// A scenario that a coverage is made of, and the readers' directions [rad]: those of the
/// command line, that of the scenario, or the four sides of the body.
struct CoverageInput {
  RunPlan plan;
  std::vector<double> directions;
};

/// Plans a scenario, or that of a stored result, without running it.
/// \throws scenarios::InputError  as link_case()
[[nodiscard]] CoverageInput coverage_input(const LinkOptions& options);

/// What one frequency's link to a reader in one direction would be with an implant of
/// 0 dBi.
/// \param direction  [rad]
/// \throws scenarios::InputError  What no link can be, at its line.
[[nodiscard]] postproc::LinkInput unity_link(const LinkOptions& options,
                                             const RunPlan& plan, double frequency,
                                             double direction);

}  // namespace torsowave::app
