#include "postproc/figure_png.hpp"

#include <png.h>
#include <zlib.h>

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <new>

#include "postproc/atomic_file.hpp"

namespace torsowave::postproc {
namespace {

void append_big_endian(std::string& bytes, std::uint32_t value)
{
  for (const unsigned shift : {24U, 16U, 8U, 0U}) {
    bytes += static_cast<char>((value >> shift) & 0xffU);
  }
}

/// The chunk pHYs (ISO/IEC 15948, 11.3.5.3): pixels per metre, the same both ways.
[[nodiscard]] std::string resolution_chunk(double dots_per_inch)
{
  constexpr double inch = 0.0254;  // [m], by definition
  constexpr std::uint32_t data_bytes = 9;
  const auto per_metre = static_cast<std::uint32_t>(std::lround(dots_per_inch / inch));
  std::string body = "pHYs";
  append_big_endian(body, per_metre);
  append_big_endian(body, per_metre);
  body += char{1};  // the unit is the metre
  std::string chunk;
  append_big_endian(chunk, data_bytes);
  chunk += body;
  append_big_endian(chunk, static_cast<std::uint32_t>(
                               crc32(0, reinterpret_cast<const Bytef*>(body.data()),
                                     static_cast<uInt>(body.size()))));
  return chunk;
}

}  // namespace

std::string encode_png(const Canvas& canvas)
{
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(canvas.width());
  image.height = static_cast<png_uint_32>(canvas.height());
  image.format = PNG_FORMAT_RGB;
  // A user waits for the pictures: a lower level of compression will do.
  image.flags = PNG_IMAGE_FLAG_FAST;
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
  std::string bytes(size, '\0');
  constexpr int as_given = 0;
  constexpr int packed_rows = 0;
  if (png_image_write_to_memory(&image, bytes.data(), &size, as_given,
                                canvas.pixels().data(), packed_rows, nullptr) == 0) {
    throw std::bad_alloc();  // nothing else can fail: the buffer fits the worst case
  }
  bytes.resize(size);
  if (canvas.dots_per_inch() > 0.0) {
    constexpr std::size_t after_header = 8 + 25;  // signature and IHDR
    bytes.insert(after_header, resolution_chunk(canvas.dots_per_inch()));
  }
  return bytes;
}

void write_png(const Canvas& canvas, const std::filesystem::path& path)
{
  write_atomically(path, encode_png(canvas));
}

}  // namespace torsowave::postproc
