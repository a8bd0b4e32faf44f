#include <algorithm>
#include <cmath>
#include <cstdint>

#include "scenarios/label_image.hpp"
#include "scenarios/picture_check.hpp"

namespace torsowave::scenarios {
namespace {

[[nodiscard]] std::uint32_t little_endian(std::string_view bytes, std::size_t count)
{
  std::uint32_t value = 0;
  for (std::size_t n = count; n-- > 0;) {
    value = (value << 8U) | static_cast<unsigned char>(bytes[n]);
  }
  return value;
}

/// What the headers of a BMP say. BITMAPFILEHEADER and BITMAPINFOHEADER (from memory):
/// offset of the pixels at 10, size of the second header at 14, width at 18, height at 22
/// (negative: the first row is the upper one), bits of a pixel at 28; up to 8 bits are
/// numbers of the colours that follow the headers, four bytes each.
struct BmpHeader {
  double width = 0.0;
  double height = 0.0;
  int bits = 0;
  std::size_t pixels = 0;   ///< where they begin
  std::size_t colours = 0;  ///< as many as have room before the pixels
};

[[nodiscard]] BmpHeader header_of_bmp(std::string_view bytes)
{
  constexpr std::size_t headers = 54;
  constexpr std::size_t file_header = 14;
  constexpr std::size_t bytes_of_colour = 4;
  constexpr std::size_t most_colours = 256;
  const std::size_t info =
      bytes.size() < headers ? 0 : little_endian(bytes.substr(14), 4);
  if (info < headers - file_header) {
    picture_is_damaged("its header is too short");
  }
  BmpHeader header;
  header.width = static_cast<std::int32_t>(little_endian(bytes.substr(18), 4));
  header.height = std::abs(
      static_cast<double>(static_cast<std::int32_t>(little_endian(bytes.substr(22), 4))));
  check_map_size(header.width, header.height);
  header.bits = static_cast<int>(little_endian(bytes.substr(28), 2));
  header.pixels = little_endian(bytes.substr(10), 4);
  if (header.pixels < file_header + info) {
    picture_is_damaged("its pixels would begin within its header");
  }
  header.colours =
      std::min(most_colours, (header.pixels - file_header - info) / bytes_of_colour);
  return header;
}

/// A pixel without a colour would take what is left in memory.
void check_bmp_colours(std::string_view bytes, const BmpHeader& header)
{
  if (header.bits != 1 && header.bits != 4 && header.bits != 8) {
    picture_is_damaged("its pixels have a number of bits that BMP does not know");
  }
  const auto width = static_cast<std::size_t>(header.width);
  const auto bits = static_cast<std::size_t>(header.bits);
  const std::size_t stride = (width * bits + 31) / 32 * 4;
  for (std::size_t row = 0; row < static_cast<std::size_t>(header.height); ++row) {
    const std::string_view line = bytes.substr(header.pixels + row * stride);
    for (std::size_t i = 0; i < width; ++i) {
      const auto byte = static_cast<unsigned char>(line[i * bits / 8]);
      const std::size_t shift = 8 - bits - i * bits % 8;
      if ((byte >> shift & ((1U << bits) - 1U)) >= header.colours) {
        picture_is_damaged("a pixel has a colour that its palette lacks");
      }
    }
  }
}

}  // namespace

void check_bmp(std::string_view bytes)
{
  const BmpHeader header = header_of_bmp(bytes);
  const double row = std::ceil(header.width * header.bits / 32.0) * 4.0;
  const double last = std::ceil(header.width * header.bits / 8.0);
  if (static_cast<double>(header.pixels) + row * (header.height - 1.0) + last >
      static_cast<double>(bytes.size())) {
    picture_is_damaged("it is too short for its pixels");
  }
  if (header.bits <= 8) {
    check_bmp_colours(bytes, header);
  }
}

}  // namespace torsowave::scenarios
