/// \file
/// \brief Text as anti-aliased coverage, from a TrueType font of the system.

#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace torsowave::postproc {

/// No usable font; the message says where it was sought and which package brings it.
class FontError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// One line of text as coverage, 0 (nothing) to 255 (ink).
struct TextImage {
  int width = 0;                       ///< [px]
  int height = 0;                      ///< [px]
  int left = 0;                        ///< column of the pen's start [px]
  int baseline = 0;                    ///< row of the baseline [px]
  double advance = 0.0;                ///< how far the pen moved [px]
  std::vector<std::uint8_t> coverage;  ///< (height, width), x fastest, first row on top
};

/// A TrueType font; text is UTF-8, a byte that is not shows as the replacement character.
class Font {
public:
  /// \throws FontError  The file cannot be read or holds no TrueType font.
  explicit Font(const std::filesystem::path& file);
  ~Font();
  Font(Font&&) noexcept;
  Font& operator=(Font&&) noexcept;
  Font(const Font&) = delete;
  Font& operator=(const Font&) = delete;

  /// Pen movement over one line [px] at `size` [px], the height from ascender to
  /// descender.
  [[nodiscard]] double advance(std::string_view text, double size) const;

  /// The em square's side [px] at `size`: what CSS and SVG call the font's size.
  [[nodiscard]] double em_size(double size) const;

  /// One line of text at `size` [px].
  [[nodiscard]] TextImage render(std::string_view text, double size) const;

  /// `text`, or as much of its beginning as fits into `width` [px], followed by an
  /// ellipsis.
  [[nodiscard]] std::string fitted(std::string_view text, double size,
                                   double width) const;

private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Where the font of the figures is: the environment variable TORSOWAVE_FONT, else the
/// file that the build named, else DejaVuSans.ttf in the usual folders.
/// \throws FontError  There is none.
[[nodiscard]] std::filesystem::path find_font_file();

}  // namespace torsowave::postproc
