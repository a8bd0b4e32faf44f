#include "scenarios/picture_check.hpp"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <array>
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
  bool palette = false;  ///< pixels are numbers of its colours
};

[[nodiscard]] PngHeader header_of_png(std::string_view data)
{
  constexpr std::size_t png_header_bytes = 13;
  if (data.size() != png_header_bytes) {
    picture_is_damaged("its header has another length than PNG's");
  }
  const PngHeader header{big_endian(data),
                         big_endian(data.substr(4)),
                         {static_cast<unsigned char>(data[8]), data[9] == 0, 0},
                         data[9] == 3};
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
  constexpr std::size_t bytes_of_colour = 3;
  constexpr unsigned ancillary = 0x20;  // in the first letter (ISO/IEC 15948, 5.4)
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
    } else if (type == "PLTE") {
      header.samples.colours = header.palette ? (body.size() - 4) / bytes_of_colour : 0;
    } else if (type == "IDAT") {
      pixels.add(body.substr(4), most_unpacked(header));
    } else if (type == "IEND") {
      break;
    } else if ((static_cast<unsigned char>(type[0]) & ancillary) == 0) {
      picture_is_damaged(
          "it has a chunk of an unknown kind that must not be passed over");
    }
    at += beside_body + body.size();
  }
  if (!pixels.ended()) {
    picture_is_damaged("its pixels end too early");
  }
  return header.samples;
}

std::string without_palette(std::string_view png)
{
  constexpr std::size_t first_chunk = png_signature.size();
  constexpr std::size_t colour_type = first_chunk + 8 + 9;
  std::string grey(png);
  grey[colour_type] = 0;
  // What is transparent is told by another rule in grey pictures.
  for (std::size_t at = first_chunk; at + 12 <= grey.size();) {
    const std::size_t length = big_endian(std::string_view(grey).substr(at));
    if (grey.compare(at + 4, 4, "tRNS") == 0) {
      std::ranges::copy(std::string_view("skIp"),
                        grey.begin() + static_cast<std::ptrdiff_t>(at) + 4);
    }
    at += 12 + length;
  }
  return grey;
}

}  // namespace torsowave::scenarios
