#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <memory>
#include <string_view>

#include "scenarios/label_image.hpp"
#include "scenarios/picture_check.hpp"

// Formats without loss alone: a label that is nearly right is wrong.
#define STB_IMAGE_IMPLEMENTATION
#define STB_IMAGE_STATIC
#define STBI_ONLY_PNG
#define STBI_ONLY_BMP
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

constexpr std::size_t most_bytes = 1U << 29U;

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
    constexpr auto opaque = static_cast<Sample>(~Sample{0});
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
[[nodiscard]] int stretch_of(const PngSamples& samples)
{
  return samples.grey && samples.depth < 8 ? 255 / ((1 << samples.depth) - 1) : 1;
}

/// A pixel without a colour would take what is left in memory. \throws LabelFileError
void check_colours(const std::string& png, const PngSamples& stored)
{
  const std::string numbers = without_palette(png);
  LabelImage image;
  int channels = 0;
  const StbSamples<stbi_uc> samples(stbi_load_from_memory(
      reinterpret_cast<const stbi_uc*>(numbers.data()), static_cast<int>(numbers.size()),
      &image.nx, &image.ny, &channels, 1));
  if (!samples) {
    picture_is_damaged("its pixels cannot be decoded");
  }
  const std::size_t count =
      static_cast<std::size_t>(image.nx) * static_cast<std::size_t>(image.ny);
  const auto* largest = std::max_element(samples.get(), samples.get() + count);
  if (*largest / stretch_of({stored.depth, true, 0}) >=
      static_cast<int>(stored.colours)) {
    picture_is_damaged("a pixel has a colour that its palette lacks");
  }
}

}  // namespace

LabelImage read_label_picture(const std::filesystem::path& file)
{
  const std::string bytes = bytes_of(file);
  PngSamples stored;
  if (is_png(bytes)) {
    stored = check_png(bytes);
  } else if (bytes.starts_with("BM")) {
    check_bmp(bytes);
  }
  const auto* data = reinterpret_cast<const stbi_uc*>(bytes.data());
  const int size = static_cast<int>(bytes.size());
  LabelImage image;
  int channels = 0;
  if (stbi_info_from_memory(data, size, &image.nx, &image.ny, &channels) == 0) {
    throw LabelFileError("file",
                         "is no picture that can be read; accepted: PNG, BMP "
                         "(pictures), .nii and .nii.gz (NIfTI-1), FILE.h5:/ARRAY (HDF5)");
  }
  check_map_size(image.nx, image.ny);
  if (stored.colours > 0) {
    check_colours(bytes, stored);
  }
  const bool deep = stbi_is_16_bit_from_memory(data, size) != 0;
  if (deep && channels >= 3) {
    throw LabelFileError("file", "has colours of 16 bits; store them with 8 bits each");
  }
  if (deep) {
    const StbSamples<stbi_us> samples(
        stbi_load_16_from_memory(data, size, &image.nx, &image.ny, &channels, 0));
    if (!samples) {
      picture_is_damaged("its pixels cannot be decoded");
    }
    take_samples(samples.get(), channels, 1, image);
    return image;
  }
  const StbSamples<stbi_uc> samples(
      stbi_load_from_memory(data, size, &image.nx, &image.ny, &channels, 0));
  if (!samples) {
    picture_is_damaged("its pixels cannot be decoded");
  }
  take_samples(samples.get(), channels, stretch_of(stored), image);
  return image;
}

}  // namespace torsowave::scenarios
