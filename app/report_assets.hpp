/// \file
/// \brief What every report page is made of, as it is embedded in the program.

#pragma once

#include <string_view>

namespace torsowave::app {

/// The page with the places that report_page() fills.
[[nodiscard]] std::string_view report_template();
[[nodiscard]] std::string_view report_style();

/// The page's own script.
[[nodiscard]] std::string_view report_script_core();
[[nodiscard]] std::string_view report_script_charts();
[[nodiscard]] std::string_view report_script_film();
[[nodiscard]] std::string_view report_script_tables();

/// The charting library, and what its licence asks to be told.
[[nodiscard]] std::string_view chart_library();
[[nodiscard]] std::string_view chart_library_licence();
[[nodiscard]] std::string_view chart_library_notice();
[[nodiscard]] std::string_view chart_library_parts();

}  // namespace torsowave::app
