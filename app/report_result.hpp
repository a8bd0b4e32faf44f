/// \file
/// \brief A run's result as a report page.

#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

namespace torsowave::app {

/// Everything that the page of a result folder shows (\see report_parts.hpp).
/// \throws postproc::ReadError  The folder holds no whole result.
/// \throws postproc::WriteError, postproc::FontError  Pictures cannot be drawn.
[[nodiscard]] nlohmann::ordered_json result_page(const std::filesystem::path& folder);

}  // namespace torsowave::app
