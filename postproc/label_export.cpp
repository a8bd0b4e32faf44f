#include "postproc/label_export.hpp"

#include <fmt/format.h>
#include <nifti1_io.h>
#include <png.h>
#include <zlib.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <new>
#include <string_view>

#include "postproc/atomic_file.hpp"
#include "postproc/color_map.hpp"

namespace torsowave::postproc {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_in_byte = 256;

/// Colours of tissues, no two the same: those that come round again are changed a little.
[[nodiscard]] std::vector<Color> distinct_colors(std::size_t count)
{
  std::vector<Color> colors;
  for (std::size_t t = 0; t < count; ++t) {
    Color color = tissue_color(t);
    while (std::ranges::find(colors, color) != colors.end()) {
      color.green = static_cast<std::uint8_t>(color.green + 1);
    }
    colors.push_back(color);
  }
  return colors;
}

[[nodiscard]] std::vector<std::size_t> cells_by_tissue(const LabelSlice& slice)
{
  std::vector<std::size_t> cells(slice.tissues.size(), 0);
  for (const std::uint16_t label : slice.labels) {
    ++cells[label];
  }
  return cells;
}

[[nodiscard]] std::string table_of(const LabelSlice& slice)
{
  const std::vector<std::size_t> cells = cells_by_tissue(slice);
  const std::vector<Color> colors = distinct_colors(slice.tissues.size());
  std::string text = "label,tissue,title,colour,cells,area_mm2\n";
  for (std::size_t t = 0; t < slice.tissues.size(); ++t) {
    const Color& c = colors[t];
    std::string title(slice.titles[t]);
    std::ranges::replace(title, '"', '\'');
    text += fmt::format("{},{},\"{}\",#{:02x}{:02x}{:02x},{},{:.6g}\n", t,
                        slice.tissues[t], title, c.red, c.green, c.blue, cells[t],
                        static_cast<double>(cells[t]) * slice.cell * slice.cell * 1e6);
  }
  return text;
}

/// Copies a text into a field of a header, which stays terminated.
void put(std::span<char> field, std::string_view text)
{
  std::memcpy(field.data(), text.data(), std::min(text.size(), field.size() - 1));
}

/// R. W. Cox et al., NIfTI-1 (nifti1.h): a single file, voxels after the table.
[[nodiscard]] nifti_1_header nifti_header(const LabelSlice& slice, std::size_t data_begin,
                                          std::string_view table_name)
{
  constexpr int bits = 8;
  const bool one_byte = slice.tissues.size() <= most_in_byte;
  const auto mm = static_cast<float>(1e3 * slice.cell);
  nifti_1_header header{};
  header.sizeof_hdr = static_cast<int>(sizeof(header));
  header.regular = 'r';
  const std::array<short, 8> dims{
      3, static_cast<short>(slice.nx), static_cast<short>(slice.ny), 1, 1, 1, 1, 1};
  std::ranges::copy(dims, header.dim);
  header.intent_code = NIFTI_INTENT_LABEL;
  header.datatype = one_byte ? DT_UINT8 : DT_UINT16;
  header.bitpix = one_byte ? bits : 2 * bits;
  header.pixdim[0] = 1.0F;
  std::fill(header.pixdim + 1, header.pixdim + 4, mm);
  header.vox_offset = static_cast<float>(data_begin);
  header.xyzt_units = NIFTI_UNITS_MM;
  header.cal_max = static_cast<float>(slice.tissues.size() - 1);
  put(header.descrip, "torsowave label map");
  put(header.aux_file, table_name);
  put(header.intent_name, "tissue");
  // The world's x goes to the patient's right, ours to the left: the last column is
  // first.
  header.qform_code = NIFTI_XFORM_SCANNER_ANAT;
  header.sform_code = NIFTI_XFORM_SCANNER_ANAT;
  header.qoffset_x =
      static_cast<float>(-1e3 * (slice.corner.x + (slice.nx - 0.5) * slice.cell));
  header.qoffset_y = static_cast<float>(1e3 * (slice.corner.y + 0.5 * slice.cell));
  header.srow_x[0] = mm;
  header.srow_x[3] = header.qoffset_x;
  header.srow_y[1] = mm;
  header.srow_y[3] = header.qoffset_y;
  header.srow_z[2] = mm;
  std::memcpy(header.magic, "n+1", 4);
  return header;
}

/// The table in a comment: lines of a label and its tissue, filled up to 16 bytes.
[[nodiscard]] std::string comment_of(const LabelSlice& slice)
{
  constexpr std::size_t unit = 16;
  constexpr std::size_t head = 8;
  std::string text;
  for (std::size_t t = 0; t < slice.tissues.size(); ++t) {
    text += fmt::format("{} {}\n", t, slice.tissues[t]);
  }
  text.resize((text.size() + head + unit - 1) / unit * unit - head, '\0');
  const std::array<int, 2> size_and_code{static_cast<int>(text.size() + head),
                                         NIFTI_ECODE_COMMENT};
  std::string bytes{1, 0, 0, 0};  // there are extensions
  bytes.append(reinterpret_cast<const char*>(size_and_code.data()), head);
  return bytes + text;
}

[[nodiscard]] std::string nifti_bytes(const LabelSlice& slice,
                                      std::string_view table_name)
{
  constexpr int longest = 32'767;  // the header counts in short
  if (slice.nx > longest || slice.ny > longest) {
    throw WriteError(
        fmt::format("NIfTI-1 holds {} voxels in a row, the slice has {} x {} "
                    "cells",
                    longest, slice.nx, slice.ny));
  }
  const std::string comment = comment_of(slice);
  const nifti_1_header header =
      nifti_header(slice, sizeof(nifti_1_header) + comment.size(), table_name);
  std::string bytes(reinterpret_cast<const char*>(&header), sizeof(header));
  bytes += comment;
  for (int j = 0; j < slice.ny; ++j) {
    const std::size_t row =
        static_cast<std::size_t>(j) * static_cast<std::size_t>(slice.nx);
    for (int i = slice.nx - 1; i >= 0; --i) {
      const std::uint16_t label = slice.labels[row + static_cast<std::size_t>(i)];
      bytes += static_cast<char>(label & 0xffU);
      if (header.datatype == DT_UINT16) {
        bytes += static_cast<char>(label >> 8U);
      }
    }
  }
  return bytes;
}

[[nodiscard]] std::string packed(const std::string& bytes)
{
  constexpr int gzip_window = 15 + 16;
  constexpr int memory_level = 8;
  z_stream stream{};
  if (deflateInit2(&stream, Z_DEFAULT_COMPRESSION, Z_DEFLATED, gzip_window, memory_level,
                   Z_DEFAULT_STRATEGY) != Z_OK) {
    throw std::bad_alloc();
  }
  std::string out(deflateBound(&stream, static_cast<uLong>(bytes.size())), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  const int status = deflate(&stream, Z_FINISH);
  out.resize(stream.total_out);
  deflateEnd(&stream);
  if (status != Z_STREAM_END) {
    throw std::bad_alloc();  // nothing else can fail: the buffer fits the worst case
  }
  return out;
}

[[nodiscard]] std::string png_bytes(const LabelSlice& slice)
{
  if (slice.tissues.size() > most_in_byte) {
    throw WriteError(
        fmt::format("a PNG's palette holds {} colours, the slice has {} "
                    "tissues; write .nii.gz",
                    most_in_byte, slice.tissues.size()));
  }
  std::vector<std::uint8_t> palette;
  for (const Color& color : distinct_colors(slice.tissues.size())) {
    palette.insert(palette.end(), {color.red, color.green, color.blue});
  }
  std::vector<std::uint8_t> rows;
  rows.reserve(slice.labels.size());
  for (int j = slice.ny - 1; j >= 0; --j) {
    const auto row = slice.labels.begin() + static_cast<std::ptrdiff_t>(j) * slice.nx;
    std::transform(row, row + slice.nx, std::back_inserter(rows),
                   [](std::uint16_t label) { return static_cast<std::uint8_t>(label); });
  }
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(slice.nx);
  image.height = static_cast<png_uint_32>(slice.ny);
  image.format = PNG_FORMAT_RGB_COLORMAP;
  image.colormap_entries = static_cast<png_uint_32>(slice.tissues.size());
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
  std::string bytes(size, '\0');
  if (png_image_write_to_memory(&image, bytes.data(), &size, 0, rows.data(), 0,
                                palette.data()) == 0) {
    throw std::bad_alloc();  // nothing else can fail: the buffer fits the worst case
  }
  bytes.resize(size);
  return bytes;
}

}  // namespace

bool is_label_file(const fs::path& file)
{
  const std::string name = file.filename().string();
  return std::ranges::any_of(
      std::initializer_list<std::string_view>{".nii", ".nii.gz", ".png"},
      [&](std::string_view end) {
        return name.size() > end.size() && name.ends_with(end);
      });
}

std::vector<fs::path> export_labels(const LabelSlice& slice, const fs::path& file)
{
  fs::path table = file;
  if (table.extension() == ".gz") {
    table.replace_extension();
  }
  table.replace_extension(".csv");
  if (file.extension() == ".png") {
    write_atomically(file, png_bytes(slice));
  } else {
    const std::string bytes = nifti_bytes(slice, table.filename().string());
    write_atomically(file, file.extension() == ".gz" ? packed(bytes) : bytes);
  }
  write_atomically(table, table_of(slice));
  return {file, table};
}

}  // namespace torsowave::postproc
