#include "fuzz/label_files.hpp"

#include <hdf5.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <numeric>
#include <string_view>
#include <vector>

#include "fuzz/result_edits.hpp"
#include "postproc/hdf5_handle.hpp"

namespace torsowave::fuzz {
namespace {

namespace hdf5 = postproc::hdf5;

/// \param window  15 for zlib's own format, 31 for gzip (zlib.h, deflateInit2)
[[nodiscard]] Bytes deflated(std::span<const std::uint8_t> bytes, int window)
{
  z_stream stream{};
  require(deflateInit2(&stream, 1, Z_DEFLATED, window, 8, Z_DEFAULT_STRATEGY) == Z_OK,
          "zlib does not begin");
  Bytes packed(deflateBound(&stream, static_cast<uLong>(bytes.size())) + 32);
  stream.next_in = const_cast<Bytef*>(bytes.data());
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = packed.data();
  stream.avail_out = static_cast<uInt>(packed.size());
  require(deflate(&stream, Z_FINISH) == Z_STREAM_END, "zlib does not end");
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  return packed;
}

void append(Bytes& file, std::uint32_t number)
{
  for (const unsigned shift : {24U, 16U, 8U, 0U}) {
    file.push_back(static_cast<std::uint8_t>(number >> shift & 0xFFU));
  }
}

/// Length, type, body, check sum (ISO/IEC 15948, 5.3).
void append_chunk(Bytes& file, std::string_view type, std::span<const std::uint8_t> body)
{
  append(file, static_cast<std::uint32_t>(body.size()));
  const std::size_t begin = file.size();
  file.insert(file.end(), type.begin(), type.end());
  file.insert(file.end(), body.begin(), body.end());
  append(file, static_cast<std::uint32_t>(crc32(0, file.data() + begin,
                                                static_cast<uInt>(file.size() - begin))));
}

/// Takes up to `count` bytes away.
[[nodiscard]] std::span<const std::uint8_t> taken(std::span<const std::uint8_t>& bytes,
                                                  std::size_t count)
{
  const auto first = bytes.first(std::min(count, bytes.size()));
  bytes = bytes.subspan(first.size());
  return first;
}

void write_numbers(hid_t file, const char* name, const std::vector<hsize_t>& lengths,
                   const std::vector<double>& values, hid_t type)
{
  const hdf5::Space space(
      H5Screate_simple(static_cast<int>(lengths.size()), lengths.data(), nullptr),
      "H5Screate_simple");
  const hdf5::Dataset made(
      H5Dcreate2(file, name, type, space.id(), H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT),
      "H5Dcreate2");
  hdf5::check(H5Dwrite(made.id(), H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT,
                       values.data()),
              "H5Dwrite");
}

void write_pixel_size(hid_t file)
{
  constexpr std::array size{1e-3, 2e-3};
  constexpr hsize_t count = size.size();
  const hdf5::Dataset labels(H5Dopen2(file, "labels", H5P_DEFAULT), "H5Dopen2");
  const hdf5::Space space(H5Screate_simple(1, &count, nullptr), "H5Screate_simple");
  const hdf5::Attribute made(H5Acreate2(labels.id(), "pixel_size", H5T_NATIVE_DOUBLE,
                                        space.id(), H5P_DEFAULT, H5P_DEFAULT),
                             "H5Acreate2");
  hdf5::check(H5Awrite(made.id(), H5T_NATIVE_DOUBLE, size.data()), "H5Awrite");
}

void write_names(hid_t file)
{
  hdf5::Type type(H5Tcopy(H5T_C_S1), "H5Tcopy");
  hdf5::check(H5Tset_size(type.id(), H5T_VARIABLE), "H5Tset_size");
  const std::array<const char*, 4> names{"air", "muscle", "blood", "fat_not_infiltrated"};
  constexpr hsize_t count = names.size();
  const hdf5::Space space(H5Screate_simple(1, &count, nullptr), "H5Screate_simple");
  const hdf5::Dataset made(H5Dcreate2(file, "name", type.id(), space.id(), H5P_DEFAULT,
                                      H5P_DEFAULT, H5P_DEFAULT),
                           "H5Dcreate2");
  hdf5::check(H5Dwrite(made.id(), type.id(), H5S_ALL, H5S_ALL, H5P_DEFAULT, names.data()),
              "H5Dwrite");
}

/// 0, 1, 2, 3, 0, ...
[[nodiscard]] std::vector<double> some_labels(std::size_t count)
{
  std::vector<double> values(count);
  for (std::size_t n = 0; n < count; ++n) {
    values[n] = static_cast<double>(n % 4);
  }
  return values;
}

[[nodiscard]] Bytes good_arrays()
{
  const ScratchFile scratch;
  {
    const hdf5::File file(
        H5Fcreate(scratch.path().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT),
        "H5Fcreate");
    write_numbers(file.id(), "labels", {6, 7}, some_labels(42), H5T_STD_I16LE);
    write_numbers(file.id(), "volume", {3, 4, 5}, some_labels(60), H5T_STD_U32BE);
    const hdf5::Group grid(
        H5Gcreate2(file.id(), "grid", H5P_DEFAULT, H5P_DEFAULT, H5P_DEFAULT),
        "H5Gcreate2");
    std::vector<double> at(7);
    std::iota(at.begin(), at.end(), 0.0);
    write_numbers(file.id(), "grid/x", {7}, at, H5T_NATIVE_DOUBLE);
    write_numbers(file.id(), "grid/y", {6}, at, H5T_NATIVE_DOUBLE);
    write_pixel_size(file.id());
    write_names(file.id());
  }
  return content(scratch.path());
}

}  // namespace

Bytes packed_png(std::span<const std::uint8_t> bytes)
{
  Input numbers(taken(bytes, 7));
  const auto next = [&numbers] { return static_cast<std::uint8_t>(numbers.number(1)); };
  Bytes header;
  append(header, next());
  append(header, next());
  header.insert(header.end(), {next(), next(), 0, 0, next()});
  const std::size_t colours = next();
  const std::size_t transparent = next();
  Bytes file{0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'};
  append_chunk(file, "IHDR", header);
  if (colours > 0) {
    append_chunk(file, "PLTE", taken(bytes, 3 * colours));
  }
  if (transparent > 0) {
    append_chunk(file, "tRNS", taken(bytes, transparent));
  }
  append_chunk(file, "IDAT", deflated(bytes, 15));
  append_chunk(file, "IEND", {});
  return file;
}

Bytes gzipped(std::span<const std::uint8_t> bytes)
{
  return deflated(bytes, 31);
}

std::string write_label_arrays(const std::filesystem::path& file,
                               std::span<const std::uint8_t> bytes)
{
  static const Bytes good = good_arrays();
  static const std::vector<std::string> places = [] {
    const ScratchFile scratch;
    scratch.fill(good);
    return places_in(scratch.path());
  }();
  fill(file, good);
  Input input(bytes);
  const bool volume = input.number(1) % 2 == 1;
  edit_places(file, places, input);
  return volume ? "/volume" : "/labels";
}

}  // namespace torsowave::fuzz
