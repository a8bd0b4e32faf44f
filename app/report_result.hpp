/// \file
/// \brief A run's result as a report page.

#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>

namespace torsowave::app {

inline constexpr int usual_picture_width = 960;  ///< [px]

/// Everything that the page of a result folder shows (\see report_parts.hpp).
/// \param picture_width  [px]
/// \throws postproc::ReadError  The folder holds no whole result.
/// \throws postproc::WriteError, postproc::FontError  Pictures cannot be drawn.
[[nodiscard]] nlohmann::ordered_json result_page(const std::filesystem::path& folder,
                                                 int picture_width = usual_picture_width);

}  // namespace torsowave::app
