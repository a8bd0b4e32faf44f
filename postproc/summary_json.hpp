/// \file
/// \brief summary.json: the figures of a run for scripts.

#pragma once

#include <filesystem>
#include <string>

#include "postproc/atomic_file.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// The figures of a run as JSON, keys in a fixed order, units in the keys.
///
/// Powers are per metre of slice and per (1 A)^2 of line current. What a run did not or
/// could not compute is null; so is a value that is not finite, since JSON has no NaN.
[[nodiscard]] std::string summary_json(const Result& result);

/// Writes summary_json() to `path`, whole or not at all.
/// \throws WriteError
void write_summary(const std::filesystem::path& path, const Result& result);

}  // namespace torsowave::postproc
