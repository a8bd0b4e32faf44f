/// \file
/// \brief A sweep file as a list of complete scenarios.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/document.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::scenarios {

/// Most cases of a sweep.
inline constexpr std::size_t max_cases = 20'000;

/// How the cases are made of the values.
enum class Combination {
  grid,   ///< every value with every other; the last key varies fastest
  zip,    ///< first values, second values, ...
  random  ///< independent draws
};

/// A key that varies.
struct SweepKey {
  std::string path;      ///< e.g. "implant.position[1]"
  bool numeric = false;  ///< every value is one number
  std::string unit;      ///< of the numbers; empty: none
  /// One for each case: in `unit`; NaN where they are no numbers.
  std::vector<double> numbers;
  std::vector<std::string> texts;  ///< one for each case, as YAML on one line
};

/// One complete scenario.
struct SweepCase {
  NodePtr tree;               ///< files by absolute path
  std::string id;             ///< of the complete input: 32 hexadecimal digits
  std::vector<Fault> faults;  ///< of this case, if it is no valid scenario
};

/// A sweep, read and checked.
struct SweepPlan {
  std::filesystem::path path;  ///< of the sweep file
  std::filesystem::path base;  ///< of the base scenario
  std::string text;            ///< the sweep file, byte for byte
  Combination combination = Combination::grid;
  std::vector<SweepKey> keys;
  std::vector<SweepCase> cases;

  /// The scenario of a case as YAML.
  [[nodiscard]] std::string scenario_text(std::size_t index) const;

  /// "implant.position[1] = -60 mm, ..." of a case.
  [[nodiscard]] std::string values_text(std::size_t index) const;
};

/// Reads a sweep file, makes its cases and reads each as a scenario.
///
/// The id of a case is the SHA-256 of `program` and of the scenario with the content of
/// the files that it names in place of their paths: any change makes another case.
/// Relative files are those of the base's folder.
/// \param program  version and revision
/// \param keep_faulty  cases that are no valid scenarios are kept with their faults
/// \throws InputError  A fault of the sweep file or of the base and, unless they are
/// kept,
///         of any case: at the varied value's place in the sweep file where it is at
///         fault, else at the base's.
[[nodiscard]] SweepPlan read_sweep(const std::filesystem::path& path,
                                   std::string_view program, bool keep_faulty = false);

}  // namespace torsowave::scenarios
