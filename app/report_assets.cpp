#include "app/report_assets.hpp"

#include <cstddef>

// Set by torsowave_embed() in CMakeLists.txt.
extern "C" {
extern const char torsowave_page_html_begin[];
extern const char torsowave_page_html_end[];
extern const char torsowave_page_css_begin[];
extern const char torsowave_page_css_end[];
extern const char torsowave_core_js_begin[];
extern const char torsowave_core_js_end[];
extern const char torsowave_charts_js_begin[];
extern const char torsowave_charts_js_end[];
extern const char torsowave_film_js_begin[];
extern const char torsowave_film_js_end[];
extern const char torsowave_tables_js_begin[];
extern const char torsowave_tables_js_end[];
extern const char torsowave_library_js_begin[];
extern const char torsowave_library_js_end[];
extern const char torsowave_library_licence_begin[];
extern const char torsowave_library_licence_end[];
extern const char torsowave_library_notice_begin[];
extern const char torsowave_library_notice_end[];
extern const char torsowave_library_parts_begin[];
extern const char torsowave_library_parts_end[];
}

namespace torsowave::app {
namespace {

[[nodiscard]] std::string_view between(const char* begin, const char* end)
{
  return {begin, static_cast<std::size_t>(end - begin)};
}

}  // namespace

std::string_view report_template()
{
  return between(torsowave_page_html_begin, torsowave_page_html_end);
}

std::string_view report_style()
{
  return between(torsowave_page_css_begin, torsowave_page_css_end);
}

std::string_view report_script_core()
{
  return between(torsowave_core_js_begin, torsowave_core_js_end);
}

std::string_view report_script_charts()
{
  return between(torsowave_charts_js_begin, torsowave_charts_js_end);
}

std::string_view report_script_film()
{
  return between(torsowave_film_js_begin, torsowave_film_js_end);
}

std::string_view report_script_tables()
{
  return between(torsowave_tables_js_begin, torsowave_tables_js_end);
}

std::string_view chart_library()
{
  return between(torsowave_library_js_begin, torsowave_library_js_end);
}

std::string_view chart_library_licence()
{
  return between(torsowave_library_licence_begin, torsowave_library_licence_end);
}

std::string_view chart_library_notice()
{
  return between(torsowave_library_notice_begin, torsowave_library_notice_end);
}

std::string_view chart_library_parts()
{
  return between(torsowave_library_parts_begin, torsowave_library_parts_end);
}

}  // namespace torsowave::app
