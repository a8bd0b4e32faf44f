/// \file
/// \brief Reads a scenario file; every fault is reported at its line and column.

#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>

#include "scenarios/scenario.hpp"

namespace torsowave::scenarios {

/// Largest scenario file accepted [bytes]: untrusted input is read with limits.
inline constexpr std::size_t max_scenario_bytes = 4U << 20U;

/// The bytes of an input file, at most one more than a scenario may have.
/// \param what  the file should be, for messages, e.g. "scenario"
/// \throws InputError  No such file, or it cannot be read.
[[nodiscard]] std::string read_input_text(const std::filesystem::path& path,
                                          std::string_view what);

/// Reads and checks a scenario file.
/// \throws InputError  With all faults found, not only the first.
[[nodiscard]] Scenario read_scenario(const std::filesystem::path& path);

/// The same for a text that is already in memory; `name` stands for the file in messages
/// and relative files are resolved against its folder.
[[nodiscard]] Scenario parse_scenario(const std::string& text,
                                      const std::filesystem::path& name);

/// The `link` of a text alone: of the scenario text, path, link and locations are set.
/// Everything else in the text may be missing or wrong.
/// \throws InputError  With all faults of the section.
[[nodiscard]] Scenario parse_link_alone(const std::string& text,
                                        const std::filesystem::path& name);

/// The same of a file.
[[nodiscard]] Scenario read_link_alone(const std::filesystem::path& path);

}  // namespace torsowave::scenarios
