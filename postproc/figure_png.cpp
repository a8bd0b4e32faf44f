#include "postproc/figure_png.hpp"

#include <png.h>

#include <cstddef>
#include <new>

#include "postproc/atomic_file.hpp"

namespace torsowave::postproc {

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
  return bytes;
}

void write_png(const Canvas& canvas, const std::filesystem::path& path)
{
  write_atomically(path, encode_png(canvas));
}

}  // namespace torsowave::postproc
