#include "app/report_page.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <stdexcept>
#include <utility>
#include <vector>

#include "app/report_assets.hpp"
#include "postproc/result.hpp"
#include "postproc/version.hpp"

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* library_name = "Apache ECharts 6.1.0";

/// Text between tags.
[[nodiscard]] std::string escaped(std::string_view text)
{
  std::string safe;
  for (const char c : text) {
    switch (c) {
      case '<':
        safe += "&lt;";
        break;
      case '>':
        safe += "&gt;";
        break;
      case '&':
        safe += "&amp;";
        break;
      case '"':
        safe += "&quot;";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

/// JSON that no text in it can end early: "<" of "</script>" or "<!--" is written as its
/// number (WHATWG, HTML Living Standard, "Restrictions for contents of script elements",
/// from memory). NaN and infinity become null.
[[nodiscard]] std::string safe_json(const Json& json)
{
  std::string safe;
  for (const char c : json.dump(-1, ' ', false, Json::error_handler_t::replace)) {
    if (c == '<') {
      safe += "\\u003c";
    } else {
      safe += c;
    }
  }
  return safe;
}

/// Puts texts into their places, "{{name}}", each once, in the order of the page: what is
/// put in is never looked through.
[[nodiscard]] std::string filled(
    std::string_view page, const std::vector<std::pair<std::string, std::string>>& texts)
{
  std::string whole;
  for (const auto& [name, text] : texts) {
    const std::string place = "{{" + name + "}}";
    const std::size_t at = page.find(place);
    if (at == std::string_view::npos) {
      throw std::logic_error("the page has no place for " + name);
    }
    whole += page.substr(0, at);
    whole += text;
    page.remove_prefix(at + place.size());
  }
  return whole + std::string(page);
}

}  // namespace

std::string report_page(Json page)
{
  page["caution"] = postproc::caution;
  page["program"] = fmt::format("torsowave {}, revision {}", postproc::tool_version(),
                                postproc::tool_revision());
  const std::string title = page["title"].get<std::string>();
  std::string scripts;
  for (const std::string_view script : {report_script_charts(), report_script_film(),
                                        report_script_tables(), report_script_core()}) {
    scripts += script;
  }
  return filled(report_template(), {{"title", escaped(title)},
                                    {"style", std::string(report_style())},
                                    {"caution", escaped(postproc::caution)},
                                    {"library-name", library_name},
                                    {"notice", escaped(chart_library_notice())},
                                    {"licence", escaped(chart_library_licence())},
                                    {"parts", escaped(chart_library_parts())},
                                    {"data", safe_json(page)},
                                    {"library", std::string(chart_library())},
                                    {"script", scripts}});
}

}  // namespace torsowave::app
