#include "scenarios/picture_check.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <new>

#include "scenarios/label_image.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::string_view png_signature{"\x89PNG\r\n\x1a\n", 8};

[[nodiscard]] std::uint32_t big_endian(std::string_view bytes)
{
  std::uint32_t value = 0;
  for (const char c : bytes.substr(0, 4)) {
    value = (value << 8U) | static_cast<unsigned char>(c);
  }
  return value;
}

[[nodiscard]] std::uint32_t little_endian(std::string_view bytes, std::size_t count)
{
  std::uint32_t value = 0;
  for (std::size_t n = count; n-- > 0;) {
    value = (value << 8U) | static_cast<unsigned char>(bytes[n]);
  }
  return value;
}

/// Counts what the pixels unpack to, and keeps nothing.
class PixelCount {
public:
  PixelCount()
  {
    if (inflateInit(&stream_) != Z_OK) {
      throw std::bad_alloc();
    }
  }
  ~PixelCount() { inflateEnd(&stream_); }
  PixelCount(const PixelCount&) = delete;
  PixelCount& operator=(const PixelCount&) = delete;

  /// \param most  bytes that are accepted in all
  void add(std::string_view packed, double most)
  {
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
    stream_.avail_in = static_cast<uInt>(packed.size());
    while (stream_.avail_in > 0 && !ended_) {
      stream_.next_out = block_.data();
      stream_.avail_out = static_cast<uInt>(block_.size());
      const int status = inflate(&stream_, Z_NO_FLUSH);
      if (status != Z_OK && status != Z_STREAM_END && status != Z_BUF_ERROR) {
        picture_is_damaged("its pixels cannot be unpacked");
      }
      count_ += static_cast<double>(block_.size() - stream_.avail_out);
      ended_ = status == Z_STREAM_END;
      if (count_ > most) {
        picture_is_damaged("it unpacks to far more than its pixels");
      }
    }
  }
  [[nodiscard]] bool ended() const { return ended_; }

private:
  z_stream stream_{};
  std::array<Bytef, 65'536> block_{};
  double count_ = 0.0;
  bool ended_ = false;
};

/// What a PNG header says.
struct PngHeader {
  std::uint32_t width = 0;
  std::uint32_t height = 0;
  PngSamples samples;
};

[[nodiscard]] PngHeader header_of_png(std::string_view data)
{
  constexpr std::size_t png_header_bytes = 13;
  if (data.size() != png_header_bytes) {
    picture_is_damaged("its header has another length than PNG's");
  }
  const PngHeader header{big_endian(data),
                         big_endian(data.substr(4)),
                         {static_cast<unsigned char>(data[8]), data[9] == 0}};
  check_map_size(header.width, header.height);
  return header;
}

/// Bytes of all rows at most: four samples a pixel, a byte before each row, and with
/// interlacing some more rows.
[[nodiscard]] double most_unpacked(const PngHeader& header)
{
  constexpr double bits_in_byte = 8.0;
  const double row = 4.0 * header.width * header.samples.depth / bits_in_byte;
  return header.height * (row + 32.0) + 4096.0;
}

/// The chunk that begins at `at`: its type and body, whose check sum is right.
[[nodiscard]] std::string_view chunk_at(std::string_view bytes, std::size_t at)
{
  constexpr std::size_t around = 12;  // length, type and check sum
  if (bytes.size() < at + around) {
    picture_is_damaged("it ends too early");
  }
  const std::size_t length = big_endian(bytes.substr(at));
  if (bytes.size() - at - around < length) {
    picture_is_damaged("it ends too early");
  }
  const std::string_view body = bytes.substr(at + 4, length + 4);
  const auto sum = static_cast<std::uint32_t>(crc32(
      0, reinterpret_cast<const Bytef*>(body.data()), static_cast<uInt>(body.size())));
  if (sum != big_endian(bytes.substr(at + 8 + length))) {
    picture_is_damaged("a check sum is wrong");
  }
  return body;
}

}  // namespace

void picture_is_damaged(std::string_view what)
{
  throw LabelFileError("file",
                       fmt::format("is damaged: {}; make or copy it again", what));
}

bool is_png(std::string_view bytes)
{
  return bytes.starts_with(png_signature);
}

PngSamples check_png(std::string_view bytes)
{
  constexpr std::size_t beside_body = 8;  // length and check sum
  PngHeader header;
  PixelCount pixels;
  bool first = true;
  for (std::size_t at = png_signature.size();;) {
    const std::string_view body = chunk_at(bytes, at);
    const std::string_view type = body.substr(0, 4);
    if (first != (type == "IHDR")) {
      picture_is_damaged("its header is not at its beginning");
    }
    if (first) {
      header = header_of_png(body.substr(4));
      first = false;
    } else if (type == "IDAT") {
      pixels.add(body.substr(4), most_unpacked(header));
    } else if (type == "IEND") {
      break;
    }
    at += beside_body + body.size();
  }
  if (!pixels.ended()) {
    picture_is_damaged("its pixels end too early");
  }
  return header.samples;
}

void check_bmp(std::string_view bytes)
{
  // BITMAPFILEHEADER and BITMAPINFOHEADER (from memory): offset of the pixels at 10, size
  // of the second header at 14, width at 18, height at 22, bits of a pixel at 28.
  constexpr std::size_t headers = 54;
  constexpr std::uint32_t info_header = 40;
  if (bytes.size() < headers || little_endian(bytes.substr(14), 4) < info_header) {
    picture_is_damaged("its header is too short");
  }
  const double width = static_cast<std::int32_t>(little_endian(bytes.substr(18), 4));
  const double height = static_cast<std::int32_t>(little_endian(bytes.substr(22), 4));
  check_map_size(width, std::abs(height));
  const double bits = little_endian(bytes.substr(28), 2);
  const double begin = little_endian(bytes.substr(10), 4);
  if (begin + width * bits / 8.0 * std::abs(height) > static_cast<double>(bytes.size())) {
    picture_is_damaged("it is too short for its pixels");
  }
}

}  // namespace torsowave::scenarios
