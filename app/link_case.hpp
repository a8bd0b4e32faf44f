/// \file
/// \brief What `torsowave link` works on: a scenario that is run, or a stored result.

#pragma once

#include <string>

#include "app/link_report.hpp"
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
  std::string direction;  ///< with unit, or "best"
  std::string lines;      ///< a frequency with unit
  int threads = 0;        ///< 0: all cores
  bool force = false;
  bool quiet = false;
  bool json = false;
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

}  // namespace torsowave::app
