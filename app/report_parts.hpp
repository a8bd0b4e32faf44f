/// \file
/// \brief The parts that a report page is made of, as the JSON that the page reads.
///
/// A page is {title, subtitle, question, answer: [text], cards, sections}. A section is
/// {id, title, text: [text], caution: bool, pictures, charts, tables, film, listing}. The
/// page's script (app/report/) knows how each part is shown; nothing here is HTML.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/look.hpp"

namespace torsowave::app {

/// Bytes as text (S. Josefsson, The Base16, Base32, and Base64 Data Encodings, RFC 4648,
/// 2006, section 4).
[[nodiscard]] std::string base64(std::string_view bytes);

/// Bytes compressed (P. Deutsch, J.-L. Gailly, ZLIB Compressed Data Format Specification,
/// RFC 1950, 1996), as base64().
[[nodiscard]] std::string packed(std::string_view bytes);

/// {caption, columns: [{head, unit, left}], rows: [[cell]]}
[[nodiscard]] nlohmann::ordered_json table_part(const TextTable& table,
                                                const std::string& caption);

/// A section with its title, to be filled.
[[nodiscard]] nlohmann::ordered_json section_part(const std::string& id,
                                                  const std::string& title,
                                                  const std::vector<std::string>& text);

/// "#1c1e24"
[[nodiscard]] std::string color_text(postproc::Color color);

/// [light, dark]: a colour chosen for white paper, on both pages.
[[nodiscard]] nlohmann::ordered_json color_part(postproc::Color color);

/// Colours of `count` curves in the order of their frequencies, as in the pictures.
[[nodiscard]] std::vector<postproc::Color> curve_colors(std::size_t count);

/// "2.71 mW"
[[nodiscard]] std::string watts_text(double power);

}  // namespace torsowave::app
