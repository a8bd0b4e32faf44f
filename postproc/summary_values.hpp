/// \file
/// \brief The single numbers of a summary.json, for tables over many runs.

#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace torsowave::postproc {

/// A number by its place in the summary, e.g. "absorbed_power_w_per_m.by_tissue.muscle".
struct NamedValue {
  std::string name;
  std::string unit;    ///< "1" for pure numbers
  double value = 0.0;  ///< NaN where the summary has null
};

/// What a summary says in single numbers.
struct SummaryValues {
  /// What it says of one frequency.
  struct AtFrequency {
    double frequency = 0.0;  ///< [Hz]
    std::vector<NamedValue> values;
  };
  std::string tool_version;
  std::string tool_revision;
  std::string scenario_sha256;
  std::vector<NamedValue> values;  ///< of the whole run: grid, materials
  std::vector<AtFrequency> frequencies;
};

/// The text is no summary; what() says why.
class SummaryError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// Reads a summary.json.
///
/// All numbers that the same scenario always gives are taken: none of the machine (wall
/// time, memory). Of arrays, the far field's peak alone. Added for each frequency, where
/// its powers are there: `loss_db` = 10 log10(source power / radiated power) [dB].
/// \throws SummaryError  No JSON, or a part is missing.
[[nodiscard]] SummaryValues read_summary_values(std::string_view json);

}  // namespace torsowave::postproc
