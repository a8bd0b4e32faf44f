/// \file
/// \brief A sweep's folder as a report page.

#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

namespace torsowave::app {

/// Whether a folder is that of a sweep.
[[nodiscard]] bool holds_sweep(const std::filesystem::path& folder);

/// Everything that the page of a sweep shows (\see report_parts.hpp), from its table and
/// its text.
/// \throws postproc::ReadError  There is no whole table.
[[nodiscard]] nlohmann::ordered_json sweep_page(const std::filesystem::path& folder);

}  // namespace torsowave::app
