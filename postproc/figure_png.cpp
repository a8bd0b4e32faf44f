#include "postproc/figure_png.hpp"

#include <stb_image_write.h>

#include <cstddef>
#include <new>

#include "postproc/atomic_file.hpp"

// The implementation of stb_image_write lies in the packaged library.

namespace torsowave::postproc {
namespace {

/// Called by C code, with the whole file at once.
void append(void* target, void* data, int size)
{
  static_cast<std::string*>(target)->append(static_cast<const char*>(data),
                                            static_cast<std::size_t>(size));
}

}  // namespace

std::string encode_png(const Canvas& canvas)
{
  constexpr int channels = 3;
  std::string bytes;
  bytes.reserve(canvas.pixels().size());  // so that append() does not throw through C
  if (stbi_write_png_to_func(append, &bytes, canvas.width(), canvas.height(), channels,
                             canvas.pixels().data(), channels * canvas.width()) == 0) {
    throw std::bad_alloc();
  }
  return bytes;
}

void write_png(const Canvas& canvas, const std::filesystem::path& path)
{
  write_atomically(path, encode_png(canvas));
}

}  // namespace torsowave::postproc
