#include "postproc/hdf5_heap.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "postproc/hdf5_handle.hpp"
#include "postproc/read_error.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

constexpr std::string_view heap_signature{"GCOL\x01", 5};  // with its version
constexpr std::uint64_t heap_head = 16;  // of a collection, and of a piece
constexpr std::uint64_t smallest_heap = 4096;
constexpr std::uint64_t most_pieces = 20'000'000;  // of all collections

using Head = std::array<char, heap_head>;

/// Little-endian.
template <class Number = unsigned>
[[nodiscard]] Number number_at(const Head& head, std::size_t at, std::size_t bytes)
{
  Number number = 0;
  std::memcpy(&number, head.data() + at, bytes);
  return number;
}

/// The last eight bytes.
[[nodiscard]] std::uint64_t size_in(const Head& head)
{
  return number_at<std::uint64_t>(head, 8, 8);
}

/// Walks along the pieces of collections.
class HeapWalk {
public:
  explicit HeapWalk(const std::filesystem::path& path)
      : file_(path, std::ios::binary), length_(std::filesystem::file_size(path))
  {
  }

  /// \param at  where a signature stands
  void check(std::uint64_t at)
  {
    walk(at, [](unsigned, std::uint64_t) {});
  }

  /// Calls `tell` with number and size of each piece that is used.
  template <class Tell>
  void walk(std::uint64_t at, const Tell& tell)
  {
    const std::optional<Head> head = head_at(at);
    // Five bytes of a field may look like a signature; with the three that follow there
    // is no doubt.
    const bool certain = head && (*head)[5] == 0 && (*head)[6] == 0 && (*head)[7] == 0;
    const std::uint64_t size = head ? size_in(*head) : 0;
    if (size < smallest_heap || size > length_ - at) {
      require(!certain, at);
      return;
    }
    for (std::uint64_t place = heap_head; place + heap_head <= size;) {
      const Piece piece = piece_at(at + place, size - place, at);
      if (piece.number > 0) {
        tell(piece.number, piece.size);
      }
      place += piece.taken;
    }
  }

  [[nodiscard]] std::optional<Head> head_at(std::uint64_t at)
  {
    Head head{};
    file_.clear();
    file_.seekg(static_cast<std::streamoff>(at));
    file_.read(head.data(), head.size());
    return file_ ? std::optional(head) : std::nullopt;
  }

  /// \throws ReadError
  static void require(bool sound, std::uint64_t at)
  {
    if (!sound) {
      throw ReadError(fmt::format("it is damaged where its texts are (byte {})", at));
    }
  }

private:
  struct Piece {
    unsigned number = 0;  ///< 0: unused
    std::uint64_t size = 0;
    std::uint64_t taken = 0;  ///< with its head and what fills it up
  };

  [[nodiscard]] Piece piece_at(std::uint64_t at, std::uint64_t left, std::uint64_t heap)
  {
    const std::optional<Head> head = head_at(at);
    require(head.has_value() && ++pieces_ <= most_pieces, heap);
    Piece piece{number_at(*head, 0, 2), size_in(*head), 0};
    require(piece.size <= left, heap);
    piece.taken = piece.number > 0 ? heap_head + (piece.size + 7) / 8 * 8 : piece.size;
    require(piece.taken >= heap_head && piece.taken <= left, heap);
    return piece;
  }

  std::ifstream file_;
  std::uint64_t length_;
  std::uint64_t pieces_ = 0;
};

void require_usual_lengths(hid_t file)
{
  const PropertyList creation(H5Fget_create_plist(file), "H5Fget_create_plist");
  std::size_t of_address = 0;
  std::size_t of_length = 0;
  hdf5::check(H5Pget_sizes(creation.id(), &of_address, &of_length), "H5Pget_sizes");
  if (of_length != sizeof(std::uint64_t) || of_address != sizeof(std::uint64_t)) {
    throw ReadError(
        fmt::format("its lengths have {} bytes and its addresses {}, accepted "
                    "are 8",
                    of_length, of_address));
  }
}

[[nodiscard]] std::filesystem::path path_of(hid_t dataset)
{
  const ssize_t length = hdf5::check(H5Fget_name(dataset, nullptr, 0), "H5Fget_name");
  std::string name(static_cast<std::size_t>(length), '\0');
  hdf5::check(H5Fget_name(dataset, name.data(), name.size() + 1), "H5Fget_name");
  return name;
}

[[nodiscard]] bool is_packed(hid_t creation)
{
  const int filters = hdf5::check(H5Pget_nfilters(creation), "H5Pget_nfilters");
  for (int n = 0; n < filters; ++n) {
    unsigned flags = 0;
    std::size_t values = 0;
    if (H5Pget_filter2(creation, static_cast<unsigned>(n), &flags, &values, nullptr, 0,
                       nullptr, nullptr) == H5Z_FILTER_DEFLATE) {
      return true;
    }
  }
  return false;
}

/// Where the references of a data set of texts stand, one after the other; empty where a
/// check sum guards them: that of zlib, or that of a header.
[[nodiscard]] std::optional<std::uint64_t> place_of(hid_t dataset,
                                                    const std::string& name)
{
  const PropertyList creation(H5Dget_create_plist(dataset), "H5Dget_create_plist");
  const H5D_layout_t layout = H5Pget_layout(creation.id());
  const haddr_t place = H5Dget_offset(dataset);
  if (layout == H5D_COMPACT || (layout == H5D_CHUNKED && is_packed(creation.id()))) {
    return std::nullopt;
  }
  if (layout != H5D_CONTIGUOUS || place == HADDR_UNDEF ||
      H5Pget_external_count(creation.id()) != 0) {
    throw ReadError(
        fmt::format("{} holds texts that are neither stored one after the "
                    "other in this file nor compressed",
                    name));
  }
  return place;
}

}  // namespace

void require_sound_texts(hid_t dataset, const std::string& name, std::size_t count)
{
  const std::optional<std::uint64_t> place = place_of(dataset, name);
  if (!place) {
    return;
  }
  HeapWalk file(path_of(dataset));
  std::map<std::uint64_t, std::map<unsigned, std::uint64_t>> sizes;
  for (std::size_t n = 0; n < count; ++n) {
    // Length (4 bytes), address of the collection (8), number of the piece (4).
    const std::uint64_t at = *place + n * heap_head;
    const auto reference = file.head_at(at);
    HeapWalk::require(reference.has_value(), at);
    const auto heap = number_at<std::uint64_t>(*reference, 4, 8);
    if (heap == 0) {
      continue;  // no text
    }
    if (!sizes.contains(heap)) {
      file.walk(heap, [&pieces = sizes[heap]](unsigned number, std::uint64_t size) {
        pieces[number] = size;
      });
    }
    const auto piece = sizes[heap].find(number_at(*reference, 12, 4));
    HeapWalk::require(
        piece != sizes[heap].end() && piece->second == number_at(*reference, 0, 4), at);
  }
}

void require_sound_heaps(hid_t file, const std::filesystem::path& path)
{
  constexpr std::size_t block = std::size_t{1} << 20U;
  const std::size_t overlap = heap_signature.size() - 1;
  require_usual_lengths(file);
  std::ifstream bytes(path, std::ios::binary);
  HeapWalk walk(path);
  std::string window;
  std::uint64_t begin = 0;  // of the window
  while (bytes) {
    const std::size_t kept = std::min(window.size(), overlap);
    begin += window.size() - kept;
    window.erase(0, window.size() - kept);
    window.resize(kept + block);
    bytes.read(window.data() + kept, static_cast<std::streamsize>(block));
    window.resize(kept + static_cast<std::size_t>(bytes.gcount()));
    for (std::size_t at = window.find(heap_signature); at != std::string::npos;
         at = window.find(heap_signature, at + 1)) {
      walk.check(begin + at);
    }
  }
}

}  // namespace torsowave::postproc::hdf5
