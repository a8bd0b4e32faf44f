#include "postproc/font.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <stb_truetype.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <system_error>

// The implementation of stb_truetype lies in the packaged library.

namespace torsowave::postproc {
namespace {

constexpr char32_t replacement = 0xFFFD;
constexpr const char* remedy =
    "install the package fonts-dejavu-core or set TORSOWAVE_FONT to a TrueType file";

/// Length of the UTF-8 sequence that `lead` begins; 0 if it begins none (RFC 3629).
[[nodiscard]] std::size_t sequence_length(unsigned char lead) noexcept
{
  if (lead < 0x80U) {
    return 1;
  }
  if (lead >= 0xC2U && lead < 0xE0U) {
    return 2;
  }
  if (lead >= 0xE0U && lead < 0xF0U) {
    return 3;
  }
  return lead >= 0xF0U && lead < 0xF5U ? 4 : 0;
}

/// Takes one character off the front of `text`, which is not empty.
[[nodiscard]] char32_t next_character(std::string_view& text) noexcept
{
  constexpr std::array<unsigned, 5> lead_mask = {0, 0x7FU, 0x1FU, 0x0FU, 0x07U};
  const auto lead = static_cast<unsigned char>(text.front());
  const std::size_t length = sequence_length(lead);
  if (length == 0 || length > text.size()) {
    text.remove_prefix(1);
    return replacement;
  }
  char32_t value = lead & lead_mask[length];
  for (std::size_t i = 1; i < length; ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if ((byte & 0xC0U) != 0x80U) {
      text.remove_prefix(i);
      return replacement;
    }
    value = (value << 6U) | (byte & 0x3FU);
  }
  text.remove_prefix(length);
  return value;
}

[[nodiscard]] std::vector<unsigned char> read_file(const std::filesystem::path& file)
{
  std::ifstream stream(file, std::ios::binary);
  if (!stream) {
    throw FontError(fmt::format("cannot open the font {}; {}", file.string(), remedy));
  }
  std::error_code ignored;
  const std::uintmax_t size = std::filesystem::file_size(file, ignored);
  std::vector<unsigned char> bytes(ignored ? 0 : static_cast<std::size_t>(size));
  // At once: byte by byte it was the longest part of a small picture.
  stream.read(reinterpret_cast<char*>(bytes.data()),
              static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(stream.gcount()));
  return bytes;
}

[[nodiscard]] std::vector<std::filesystem::path> usual_font_files()
{
  std::vector<std::filesystem::path> files;
#ifdef TORSOWAVE_FONT_FILE
  files.emplace_back(TORSOWAVE_FONT_FILE);
#endif
  std::vector<std::filesystem::path> folders = {
      "/usr/share/fonts/truetype/dejavu", "/usr/share/fonts/dejavu",
      "/usr/share/fonts/dejavu-sans-fonts", "/usr/share/fonts/TTF",
      "/usr/local/share/fonts"};
  if (const char* home = std::getenv("HOME"); home != nullptr && *home != '\0') {
    folders.emplace_back(std::filesystem::path(home) / ".local/share/fonts");
    folders.emplace_back(std::filesystem::path(home) / ".fonts");
  }
  files.reserve(files.size() + folders.size());
  for (const std::filesystem::path& folder : folders) {
    files.push_back(folder / "DejaVuSans.ttf");
  }
  return files;
}

}  // namespace

struct Font::State {
  std::vector<unsigned char> bytes;
  stbtt_fontinfo info{};
  int ascent = 0;
  int descent = 0;

  [[nodiscard]] float scale(double size) const noexcept
  {
    return static_cast<float>(size / (ascent - descent));
  }

  /// Calls `visit(glyph, pen)` for each glyph, `pen` [px] from the start; gives the end.
  template <typename Visit>
  double walk(std::string_view text, double size, Visit visit) const
  {
    const auto factor = static_cast<double>(scale(size));
    double pen = 0.0;
    int previous = 0;
    while (!text.empty()) {
      const int glyph =
          stbtt_FindGlyphIndex(&info, static_cast<int>(next_character(text)));
      pen += factor * stbtt_GetGlyphKernAdvance(&info, previous, glyph);
      visit(glyph, pen);
      int advance = 0;
      stbtt_GetGlyphHMetrics(&info, glyph, &advance, nullptr);
      pen += factor * advance;
      previous = glyph;
    }
    return pen;
  }

  /// Adds one glyph, its origin at `pen` right of the image's pen start.
  void stamp(TextImage& image, int glyph, double pen, float factor) const;
};

void Font::State::stamp(TextImage& image, int glyph, double pen, float factor) const
{
  const double whole = std::floor(pen);
  const auto shift = static_cast<float>(pen - whole);
  int x0 = 0;
  int y0 = 0;
  int x1 = 0;
  int y1 = 0;
  stbtt_GetGlyphBitmapBoxSubpixel(&info, glyph, factor, factor, shift, 0.0F, &x0, &y0,
                                  &x1, &y1);
  const int width = x1 - x0;
  const int height = y1 - y0;
  if (width <= 0 || height <= 0) {
    return;
  }
  std::vector<std::uint8_t> bitmap(static_cast<std::size_t>(width) *
                                   static_cast<std::size_t>(height));
  stbtt_MakeGlyphBitmapSubpixel(&info, bitmap.data(), width, height, width, factor,
                                factor, shift, 0.0F, glyph);
  std::size_t next = 0;  // of the bitmap
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x, ++next) {
      const int column = image.left + static_cast<int>(whole) + x0 + x;
      const int row = image.baseline + y0 + y;
      if (column < 0 || column >= image.width || row < 0 || row >= image.height) {
        continue;
      }
      std::uint8_t& target = image.coverage[static_cast<std::size_t>(row) *
                                                static_cast<std::size_t>(image.width) +
                                            static_cast<std::size_t>(column)];
      target = std::max(target, bitmap[next]);
    }
  }
}

Font::Font(const std::filesystem::path& file) : state_(std::make_unique<State>())
{
  state_->bytes = read_file(file);
  constexpr std::array<unsigned char, 4> signature = {0, 1, 0, 0};  // TrueType outlines
  const auto& bytes = state_->bytes;
  if (bytes.size() < 1024 ||
      !std::equal(signature.begin(), signature.end(), bytes.begin()) ||
      stbtt_InitFont(&state_->info, bytes.data(), 0) == 0) {
    throw FontError(fmt::format("{} is not a TrueType font; {}", file.string(), remedy));
  }
  stbtt_GetFontVMetrics(&state_->info, &state_->ascent, &state_->descent, nullptr);
  if (state_->ascent <= state_->descent) {
    throw FontError(fmt::format("the font {} has no height", file.string()));
  }
}

Font::~Font() = default;
Font::Font(Font&&) noexcept = default;
Font& Font::operator=(Font&&) noexcept = default;

double Font::advance(std::string_view text, double size) const
{
  return state_->walk(text, size, [](int, double) {});
}

double Font::em_size(double size) const
{
  const float one = stbtt_ScaleForMappingEmToPixels(&state_->info, 1.0F);
  return static_cast<double>(state_->scale(size) / one);
}

TextImage Font::render(std::string_view text, double size) const
{
  const float factor = state_->scale(size);
  TextImage image;
  image.left = static_cast<int>(std::ceil(0.3 * size));  // room for overhanging glyphs
  image.advance = advance(text, size);
  image.baseline =
      static_cast<int>(std::ceil(factor * static_cast<float>(state_->ascent))) + 1;
  image.width = static_cast<int>(std::ceil(image.advance)) + 2 * image.left;
  image.height =
      image.baseline -
      static_cast<int>(std::floor(factor * static_cast<float>(state_->descent))) + 1;
  image.coverage.resize(static_cast<std::size_t>(image.width) *
                        static_cast<std::size_t>(image.height));
  state_->walk(text, size,
               [&](int glyph, double pen) { state_->stamp(image, glyph, pen, factor); });
  return image;
}

std::string Font::fitted(std::string_view text, double size, double width) const
{
  if (advance(text, size) <= width) {
    return std::string(text);
  }
  std::string best = "…";
  std::string_view rest = text;
  while (!rest.empty()) {
    static_cast<void>(next_character(rest));
    std::string shorter = std::string(text.substr(0, text.size() - rest.size())) + "…";
    if (advance(shorter, size) > width) {
      break;
    }
    best = std::move(shorter);
  }
  return best;
}

std::filesystem::path find_font_file()
{
  if (const char* chosen = std::getenv("TORSOWAVE_FONT");
      chosen != nullptr && *chosen != '\0') {
    return chosen;
  }
  const std::vector<std::filesystem::path> files = usual_font_files();
  std::vector<std::string> sought;
  for (const std::filesystem::path& file : files) {
    std::error_code ignored;
    if (std::filesystem::is_regular_file(file, ignored)) {
      return file;
    }
    sought.push_back(file.string());
  }
  throw FontError(fmt::format("no font for the figures: sought {}; {}",
                              fmt::join(sought, ", "), remedy));
}

}  // namespace torsowave::postproc
