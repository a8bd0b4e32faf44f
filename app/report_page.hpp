/// \file
/// \brief A report as one HTML page that needs nothing else.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace torsowave::app {

/// The page with its style, scripts, charting library and data. It asks no network for
/// anything: its own policy forbids it. \param page  \see report_parts.hpp
[[nodiscard]] std::string report_page(nlohmann::ordered_json page);

}  // namespace torsowave::app
