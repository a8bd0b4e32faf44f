/// \file
/// \brief What users are told of a label map, and its export.

#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/run_plan.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Size and file of the map, its labels with tissue, pixels and area, what is worth a
/// look; empty without a map.
[[nodiscard]] std::string label_map_text(const RunPlan& plan, std::size_t most_columns);

/// The same as JSON; null without a map.
[[nodiscard]] std::string label_map_json(const RunPlan& plan);

/// What a result says of the map that it stands on.
[[nodiscard]] std::vector<std::string> label_map_notes(const RunPlan& plan);

/// Copies the map's file into a folder of results, so that the scenario there runs again
/// wherever it is; a large one stays where it is.
/// \throws postproc::WriteError
void keep_label_map(const RunPlan& plan, const std::filesystem::path& copy);

/// Whether the file is copied.
[[nodiscard]] bool keeps_label_map(const RunPlan& plan);

/// Writes the tissues of a plan's, or a result's, cells as a label map with its table.
/// \throws CLI::ValidationError  A name without a known ending. \throws
/// postproc::WriteError
std::vector<std::filesystem::path> export_label_map(const RunPlan& plan,
                                                    const std::filesystem::path& file);
std::vector<std::filesystem::path> export_label_map(const postproc::Result& result,
                                                    const std::filesystem::path& file);

}  // namespace torsowave::app
