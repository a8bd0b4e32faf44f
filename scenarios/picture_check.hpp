/// \file
/// \brief Pictures checked before the decoder sees them, which trusts their lengths.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace torsowave::scenarios {

/// How a PNG file stores its samples.
struct PngSamples {
  int depth = 8;  ///< bits
  bool grey = false;
  std::size_t colours = 0;  ///< in the palette; 0: without one
};

[[nodiscard]] bool is_png(std::string_view bytes);

/// Compares all check sums (ISO/IEC 15948, 5.3) and unpacks the pixels once: they must
/// not become far more than the header says. A label that was damaged on its way would be
/// another label. \throws LabelFileError
[[nodiscard]] PngSamples check_png(std::string_view bytes);

/// A PNG with a palette as a grey one of the same depth, for a decoder that compares no
/// check sums: its samples are the numbers of the colours.
[[nodiscard]] std::string without_palette(std::string_view png);

/// Whether a BMP file is as long as its pixels, and has the colours that they name.
/// \throws LabelFileError
void check_bmp(std::string_view bytes);

/// \throws LabelFileError  "is damaged: " and what.
[[noreturn]] void picture_is_damaged(std::string_view what);

}  // namespace torsowave::scenarios
