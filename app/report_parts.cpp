#include "app/report_parts.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <new>
#include <nlohmann/json.hpp>

namespace torsowave::app {
namespace {

using Json = nlohmann::ordered_json;

}  // namespace

std::string base64(std::string_view bytes)
{
  static constexpr std::string_view letters =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string text;
  text.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t n = 0; n < bytes.size(); n += 3) {
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - n);
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      const auto byte = k < count ? static_cast<unsigned char>(bytes[n + k]) : 0U;
      group = group << 8U | byte;
    }
    for (std::size_t k = 0; k < 4; ++k) {
      text += k <= count ? letters[group >> (18U - 6U * k) & 63U] : '=';
    }
  }
  return text;
}

std::string packed(std::string_view bytes)
{
  uLongf size = compressBound(static_cast<uLong>(bytes.size()));
  std::string compressed(size, '\0');
  if (compress2(reinterpret_cast<Bytef*>(compressed.data()), &size,
                reinterpret_cast<const Bytef*>(bytes.data()),
                static_cast<uLong>(bytes.size()), Z_BEST_COMPRESSION) != Z_OK) {
    throw std::bad_alloc();  // the one thing that can fail here
  }
  compressed.resize(size);
  return base64(compressed);
}

Json table_part(const TextTable& table, const std::string& caption)
{
  Json columns = Json::array();
  for (const Column& column : table.columns()) {
    std::string head = column.head;
    std::ranges::replace(head, '\n', ' ');
    columns.push_back(
        {{"head", head}, {"unit", column.unit}, {"left", column.align == Align::left}});
  }
  return {{"caption", caption}, {"columns", columns}, {"rows", table.rows()}};
}

Json section_part(const std::string& id, const std::string& title,
                  const std::vector<std::string>& text)
{
  return {{"id", id},
          {"title", title},
          {"text", text},
          {"pictures", Json::array()},
          {"charts", Json::array()},
          {"tables", Json::array()}};
}

std::string color_text(postproc::Color color)
{
  return fmt::format("#{:02x}{:02x}{:02x}", color.red, color.green, color.blue);
}

Json color_part(postproc::Color color)
{
  return {color_text(color), color_text(postproc::dark_theme.line(color))};
}

std::vector<postproc::Color> curve_colors(std::size_t count)
{
  std::vector<postproc::Color> colors;
  const double last = std::max(1.0, static_cast<double>(count) - 1.0);
  for (std::size_t c = 0; c < count; ++c) {
    colors.push_back(postproc::sequential_color(0.75 * static_cast<double>(c) / last));
  }
  return colors;
}

std::string watts_text(double power)
{
  return power >= 1.0    ? fmt::format("{:.3g} W", power)
         : power >= 1e-3 ? fmt::format("{:.3g} mW", power * 1e3)
         : power >= 1e-6 ? fmt::format("{:.3g} uW", power * 1e6)
                         : fmt::format("{:.3g} nW", power * 1e9);
}

}  // namespace torsowave::app
