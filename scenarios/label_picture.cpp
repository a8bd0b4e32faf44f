#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <memory>
#include <string_view>

#include "scenarios/label_image.hpp"

// Formats without loss alone: a label that is nearly right is wrong.
#define STB_IMAGE_IMPLEMENTATION
#define STB_IMAGE_STATIC
#define STBI_ONLY_PNG
#define STBI_ONLY_BMP
#define STBI_ONLY_PNM
#define STBI_NO_STDIO
#define STBI_MAX_DIMENSIONS 16384
#define STBI_NO_FAILURE_STRINGS
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wunused-function"
#pragma GCC diagnostic ignored "-Wconversion"
#include <stb/stb_image.h>
#pragma GCC diagnostic pop

namespace torsowave::scenarios {
namespace {

/// More than deflate can make of a byte: 1032 (J. Gailly, M. Adler, zlib technical
/// details, from memory).
constexpr double largest_growth = 1100.0;
constexpr std::string_view png_signature{"\x89PNG\r\n\x1a\n", 8};
constexpr std::size_t most_bytes = 1U << 29U;

[[noreturn]] void damaged(std::string_view what)
{
  throw LabelFileError("file",
                       fmt::format("is damaged: {}; make or copy it again", what));
}

[[nodiscard]] std::string bytes_of(const std::filesystem::path& path)
{
  std::ifstream file(path, std::ios::binary);
  std::error_code error;
  const std::uintmax_t size = std::filesystem::file_size(path, error);
  if (!file || error) {
    throw LabelFileError("file", "cannot be opened; check that you may read it");
  }
  if (size > most_bytes) {
    throw LabelFileError("file",
                         fmt::format("is larger than the {} MiB that a picture may "
                                     "have; write NIfTI or HDF5",
                                     most_bytes >> 20U));
  }
  return {std::istreambuf_iterator<char>(file), {}};
}

[[nodiscard]] std::uint32_t big_endian(std::string_view bytes)
{
  std::uint32_t value = 0;
  for (const char c : bytes.substr(0, 4)) {
    value = (value << 8U) | static_cast<unsigned char>(c);
  }
  return value;
}

/// What a PNG file says of itself.
struct PngHeader {
  std::uint32_t width = 0;
  std::uint32_t height = 0;
  int depth = 8;  ///< bits of a sample
  bool grey = false;
};

[[nodiscard]] PngHeader header_of(std::string_view data)
{
  constexpr std::size_t header_bytes = 13;
  if (data.size() != header_bytes) {
    damaged("its header has another length than PNG's");
  }
  return {big_endian(data), big_endian(data.substr(4)), data[8], data[9] == 0};
}

/// Walks the chunks and compares their check sums (ISO/IEC 15948, 5.3), which the decoder
/// does not: a label that was damaged on its way would be another label.
[[nodiscard]] PngHeader check_png(std::string_view bytes)
{
  constexpr std::size_t around = 12;  // length, type and check sum of a chunk
  PngHeader header;
  bool first = true;
  for (std::size_t at = png_signature.size();;) {
    if (bytes.size() < at + around) {
      damaged("it ends too early");
    }
    const std::size_t length = big_endian(bytes.substr(at));
    if (bytes.size() - at - around < length) {
      damaged("it ends too early");
    }
    const std::string_view body = bytes.substr(at + 4, length + 4);
    const auto sum = static_cast<std::uint32_t>(crc32(
        0, reinterpret_cast<const Bytef*>(body.data()), static_cast<uInt>(body.size())));
    if (sum != big_endian(bytes.substr(at + 8 + length))) {
      damaged("a check sum is wrong");
    }
    const std::string_view type = body.substr(0, 4);
    if (first != (type == "IHDR")) {
      damaged("its header is not at its beginning");
    }
    if (first) {
      header = header_of(body.substr(4));
      first = false;
    }
    if (type == "IEND") {
      return header;
    }
    at += around + length;
  }
}

struct StbFree {
  void operator()(void* data) const { stbi_image_free(data); }
};
template <class Sample>
using StbSamples = std::unique_ptr<Sample, StbFree>;

/// Fills the labels, the picture's last row first. \param of  a pixel's label
template <class Of>
void fill_rows(LabelImage& image, const Of& of)
{
  image.labels.reserve(static_cast<std::size_t>(image.nx) *
                       static_cast<std::size_t>(image.ny));
  for (int row = image.ny - 1; row >= 0; --row) {
    const std::size_t begin =
        static_cast<std::size_t>(row) * static_cast<std::size_t>(image.nx);
    for (std::size_t i = 0; i < static_cast<std::size_t>(image.nx); ++i) {
      image.labels.push_back(of(begin + i));
    }
  }
}

/// Samples of 8 or 16 bits as labels.
/// \param divisor  of grey values of fewer than 8 bits, which the decoder stretches
template <class Sample>
void take_samples(const Sample* samples, int channels, int divisor, LabelImage& image)
{
  const auto stride = static_cast<std::size_t>(channels);
  const std::size_t count =
      static_cast<std::size_t>(image.nx) * static_cast<std::size_t>(image.ny);
  if (channels == 2 || channels == 4) {
    constexpr Sample opaque = static_cast<Sample>(~Sample{0});
    for (std::size_t p = 0; p < count; ++p) {
      if (samples[p * stride + stride - 1] != opaque) {
        throw LabelFileError("file",
                             "has transparent pixels, which have no label; store it "
                             "without transparency");
      }
    }
  }
  image.colour = channels >= 3;
  if (image.colour) {
    fill_rows(image, [&](std::size_t p) {
      const Sample* rgb = samples + p * stride;
      return static_cast<std::int32_t>((rgb[0] << 16U) | (rgb[1] << 8U) | rgb[2]);
    });
  } else {
    fill_rows(image, [&](std::size_t p) {
      return static_cast<std::int32_t>(samples[p * stride]) / divisor;
    });
  }
}

/// Grey values of 1, 2 and 4 bits come as 8 bits, stretched to 0 ... 255.
[[nodiscard]] int stretch_of(const PngHeader& header)
{
  return header.grey && header.depth < 8 ? 255 / ((1 << header.depth) - 1) : 1;
}

}  // namespace

LabelImage read_label_picture(const std::filesystem::path& file)
{
  const std::string bytes = bytes_of(file);
  PngHeader header;
  if (bytes.starts_with(png_signature)) {
    header = check_png(bytes);
    check_map_size(header.width, header.height);
  }
  const auto* data = reinterpret_cast<const stbi_uc*>(bytes.data());
  const int size = static_cast<int>(bytes.size());
  LabelImage image;
  int channels = 0;
  if (stbi_info_from_memory(data, size, &image.nx, &image.ny, &channels) == 0) {
    throw LabelFileError("file",
                         "is no picture that can be read; accepted: PNG, BMP, PNM "
                         "(pictures), .nii and .nii.gz (NIfTI-1), FILE.h5:/ARRAY (HDF5)");
  }
  check_map_size(image.nx, image.ny);
  const double pixels = static_cast<double>(image.nx) * image.ny;
  if (pixels * header.depth / 8.0 > largest_growth * static_cast<double>(size)) {
    damaged("it is too short for its pixels");
  }
  const bool deep = stbi_is_16_bit_from_memory(data, size) != 0;
  if (deep && channels >= 3) {
    throw LabelFileError("file", "has colours of 16 bits; store them with 8 bits each");
  }
  if (deep) {
    const StbSamples<stbi_us> samples(
        stbi_load_16_from_memory(data, size, &image.nx, &image.ny, &channels, 0));
    if (!samples) {
      damaged("its pixels cannot be decoded");
    }
    take_samples(samples.get(), channels, 1, image);
    return image;
  }
  const StbSamples<stbi_uc> samples(
      stbi_load_from_memory(data, size, &image.nx, &image.ny, &channels, 0));
  if (!samples) {
    damaged("its pixels cannot be decoded");
  }
  take_samples(samples.get(), channels, stretch_of(header), image);
  return image;
}

}  // namespace torsowave::scenarios
