#include "scenarios/nifti_header.hpp"

#include <fmt/format.h>
#include <nifti1_io.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <memory>
#include <string_view>
#include <utility>
#include <vector>

#include "scenarios/label_image.hpp"

namespace torsowave::scenarios {
namespace {

/// More than deflate can make of a byte: 1032 (J. Gailly, M. Adler, zlib technical
/// details, from memory).
constexpr double largest_growth = 1100.0;
constexpr int header_bytes = 348;
constexpr int first_data = 352;  // after the header and the extension flag
constexpr float farthest_data = 16.0F * 1024.0F * 1024.0F;
constexpr int nifti_2_header_bytes = 540;

struct GzClose {
  void operator()(gzFile file) const { gzclose(file); }
};
using GzHandle = std::unique_ptr<std::remove_pointer_t<gzFile>, GzClose>;

[[noreturn]] void refuse_file(std::string_view problem)
{
  throw LabelFileError("file", std::string(problem));
}

/// Reads exactly `count` bytes.
void read_exactly(gzFile file, void* to, int count)
{
  if (gzread(file, to, static_cast<unsigned>(count)) != count) {
    refuse_file("is damaged: it ends within its header; make or copy it again");
  }
}

[[nodiscard]] nifti_1_header read_header(gzFile file, bool& swapped)
{
  nifti_1_header header{};
  static_assert(sizeof(header) == header_bytes);
  read_exactly(file, &header, header_bytes);
  const int as_stored = header.sizeof_hdr;
  swapped = std::exchange(header.sizeof_hdr, header_bytes) != header_bytes;
  int size = as_stored;
  if (swapped) {
    nifti_swap_4bytes(1, &size);
  }
  if (as_stored == nifti_2_header_bytes || size == nifti_2_header_bytes) {
    refuse_file("is NIfTI-2, which is not read; write NIfTI-1");
  }
  if (size != header_bytes || std::memcmp(header.magic, "n+1", 4) != 0) {
    const bool pair = std::memcmp(header.magic, "ni1", 4) == 0;
    refuse_file(pair ? "is one of a pair .hdr and .img; write a single file .nii"
                     : "is no NIfTI-1 file: its header does not begin or end as one "
                       "does; write .nii or .nii.gz");
  }
  if (swapped) {
    swap_nifti_header(&header, 1);
  }
  return header;
}

/// Bits of a voxel of an integer type, 0 of others. (In floats the library takes what is
/// no number for 0.)
[[nodiscard]] int bits_of(int type)
{
  switch (type) {
    case DT_UINT8:
    case DT_INT8:
      return 8;
    case DT_INT16:
    case DT_UINT16:
      return 16;
    case DT_INT32:
    case DT_UINT32:
      return 32;
    case DT_INT64:
    case DT_UINT64:
      return 64;
    default:
      return 0;
  }
}

[[nodiscard]] NiftiShape shape_of(const nifti_1_header& header)
{
  const int rank = header.dim[0];
  if (rank < 1 || rank > 7) {
    refuse_file(fmt::format("is damaged: it claims {} dimensions", rank));
  }
  NiftiShape shape;
  for (int d = 1; d <= rank; ++d) {
    const int length = header.dim[d];
    if (length < 1) {
      refuse_file(fmt::format("is damaged: {} voxels along dimension {}", length, d));
    }
    if (d > 3 && length > 1) {
      refuse_file(fmt::format("holds {} volumes; write the one to use", length));
    }
    if (d <= 3) {
      shape.voxels.at(static_cast<std::size_t>(d) - 1) = length;
    }
  }
  const int bits = bits_of(header.datatype);
  if (bits == 0) {
    refuse_file(fmt::format("holds {} (datatype {}), no labels; write integers",
                            nifti_datatype_string(header.datatype), header.datatype));
  }
  if (header.bitpix != bits) {
    refuse_file(
        fmt::format("is damaged: {} bits a voxel, its type has {}", header.bitpix, bits));
  }
  shape.bytes = bits / 8;
  return shape;
}

void check_numbers(const nifti_1_header& header, const NiftiShape& shape)
{
  const bool scaled =
      header.scl_slope != 0.0F && (header.scl_slope != 1.0F || header.scl_inter != 0.0F);
  if (!std::isfinite(header.scl_slope) || !std::isfinite(header.scl_inter) || scaled) {
    refuse_file(
        fmt::format("scales its values (slope {}, intercept {}): labels are "
                    "whole numbers; write them unscaled",
                    header.scl_slope, header.scl_inter));
  }
  for (std::size_t d = 0; d < 3; ++d) {
    const float size = header.pixdim[d + 1];
    if (shape.voxels.at(d) > 1 && !(std::isfinite(size) && size > 0.0F)) {
      refuse_file(
          fmt::format("is damaged: voxels of size {} along dimension {}", size, d + 1));
    }
  }
  const std::array<float, 6> quaternion{header.quatern_b, header.quatern_c,
                                        header.quatern_d, header.qoffset_x,
                                        header.qoffset_y, header.qoffset_z};
  bool sound = std::ranges::all_of(quaternion, [](float v) { return std::isfinite(v); });
  for (const float* row : {header.srow_x, header.srow_y, header.srow_z}) {
    sound = sound && std::all_of(row, row + 4, [](float v) { return std::isfinite(v); });
  }
  if (!sound) {
    refuse_file("is damaged: its orientation is not a number");
  }
}

/// Extensions stand between the header and the data, each with its size.
void check_extensions(gzFile file, int data_begin, bool swapped)
{
  std::array<char, 4> flag{};
  read_exactly(file, flag.data(), 4);
  if (flag[0] == 0) {
    return;
  }
  for (int at = first_data; at < data_begin;) {
    std::array<int, 2> size_and_code{};
    if (data_begin - at < 16) {
      refuse_file("is damaged: an extension reaches into its data");
    }
    read_exactly(file, size_and_code.data(), 8);
    if (swapped) {
      nifti_swap_4bytes(2, size_and_code.data());
    }
    const int size = size_and_code[0];
    if (size < 16 || size % 16 != 0 || size > data_begin - at) {
      refuse_file(fmt::format("is damaged: an extension of {} bytes", size));
    }
    if (gzseek(file, size - 8, SEEK_CUR) < 0) {
      refuse_file("is damaged: it ends within an extension");
    }
    at += size;
  }
}

/// Whether the file can hold that many voxels at all.
void check_length(const std::filesystem::path& file, const NiftiShape& shape,
                  double data_begin, bool compressed)
{
  double bytes = shape.bytes;
  for (const int count : shape.voxels) {
    bytes *= count;
  }
  if (bytes > static_cast<double>(max_map_bytes)) {
    refuse_file(
        fmt::format("has voxels of {:.3g} GiB; accepted are {:.3g} GiB: write the "
                    "slice alone",
                    bytes / 0x1p30, static_cast<double>(max_map_bytes) / 0x1p30));
  }
  const auto length = static_cast<double>(std::filesystem::file_size(file));
  if (bytes + data_begin > (compressed ? largest_growth : 1.0) * length) {
    refuse_file(
        fmt::format("is damaged: too short for its {} x {} x {} voxels; make or "
                    "copy it again",
                    shape.voxels[0], shape.voxels[1], shape.voxels[2]));
  }
}

/// Unpacks the voxels once, so that the check sum at the end is compared: a label that
/// was damaged on its way would be another label.
void check_packed(gzFile file, const NiftiShape& shape, double data_begin)
{
  constexpr unsigned block_bytes = 1U << 20U;
  double left = shape.bytes;
  for (const int count : shape.voxels) {
    left *= count;
  }
  left += data_begin - static_cast<double>(gztell(file));
  std::vector<char> block(block_bytes);
  int got = 0;
  while ((got = gzread(file, block.data(), block_bytes)) > 0) {
    left -= got;
    if (left < -static_cast<double>(block_bytes)) {
      refuse_file("is damaged: it unpacks to far more than its voxels");
    }
  }
  int status = Z_OK;
  gzerror(file, &status);
  if (got < 0 || left > 0.0 || status != Z_OK) {
    refuse_file("is damaged: it cannot be unpacked to its end; make or copy it again");
  }
}

}  // namespace

NiftiShape check_nifti_header(const std::filesystem::path& file)
{
  const GzHandle handle(gzopen(file.c_str(), "rb"));
  if (!handle) {
    refuse_file("cannot be opened; check that you may read it");
  }
  bool swapped = false;
  const nifti_1_header header = read_header(handle.get(), swapped);
  const bool compressed = gzdirect(handle.get()) == 0;
  if (compressed != file.string().ends_with(".gz")) {
    refuse_file(compressed ? "is compressed; name it .nii.gz"
                           : "is not compressed; name it .nii");
  }
  const NiftiShape shape = shape_of(header);
  check_numbers(header, shape);
  const float begin = header.vox_offset;
  if (!(begin >= first_data && begin <= farthest_data) || begin != std::floor(begin)) {
    refuse_file(fmt::format("is damaged: its data would begin at byte {}", begin));
  }
  check_length(file, shape, static_cast<double>(begin), compressed);
  check_extensions(handle.get(), static_cast<int>(begin), swapped);
  if (compressed) {
    check_packed(handle.get(), shape, static_cast<double>(begin));
  }
  return shape;
}

}  // namespace torsowave::scenarios
