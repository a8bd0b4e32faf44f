#include "fuzz/input.hpp"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <iterator>
#include <limits>
#include <stdexcept>
#include <system_error>

namespace torsowave::fuzz {
namespace {

constexpr int most_edits = 16;

/// Sizes and numbers at which readers go wrong.
constexpr std::array<std::uint64_t, 8> borders{0,
                                               1,
                                               std::numeric_limits<std::uint32_t>::max(),
                                               std::uint64_t{1} << 31U,
                                               std::uint64_t{1} << 40U,
                                               std::numeric_limits<std::uint64_t>::max(),
                                               0x7FF0000000000000,   // infinity
                                               0x7FEFFFFFFFFFFFFF};  // 1.8e308

void overwrite(Bytes& file, std::size_t at, std::uint64_t number)
{
  const std::size_t size = std::min(sizeof number, file.size() - at);
  std::memcpy(file.data() + at, &number, size);
}

void edit(Bytes& file, Input& input)
{
  const auto action = input.number(1) % 5;
  const std::size_t at = input.below(file.size());
  const auto place = file.begin() + static_cast<std::ptrdiff_t>(at);
  const auto end = file.begin() + static_cast<std::ptrdiff_t>(
                                      std::min(file.size(), at + 1 + input.number(1)));
  switch (action) {
    case 0:
      *place = static_cast<std::uint8_t>(input.number(1));
      break;
    case 1:
      overwrite(file, at, borders.at(input.below(borders.size())));
      break;
    case 2:
      file.erase(place, end);
      break;
    case 3: {
      const Bytes piece(place, end);
      file.insert(place, piece.begin(), piece.end());
      break;
    }
    default:
      file.erase(place, file.end());
  }
}

}  // namespace

std::uint64_t Input::number(int bytes)
{
  std::uint64_t number = 0;
  for (int n = 0; n < bytes && !left_.empty(); ++n) {
    number |= std::uint64_t{left_.front()} << static_cast<unsigned>(8 * n);
    left_ = left_.subspan(1);
  }
  return number;
}

Bytes edited(Bytes file, Input& input)
{
  for (int n = 0; n < most_edits && !input.empty() && !file.empty(); ++n) {
    edit(file, input);
  }
  return file;
}

ScratchFile::ScratchFile()
{
  std::string name =
      (std::filesystem::temp_directory_path() / "torsowave-fuzz-XXXXXX").string();
  descriptor_ = ::mkstemp(name.data());
  if (descriptor_ < 0) {
    throw std::runtime_error("cannot create " + name);
  }
  path_ = name;
}

ScratchFile::~ScratchFile()
{
  ::close(descriptor_);
  std::error_code ignored;
  std::filesystem::remove(path_, ignored);
}

void ScratchFile::fill(std::span<const std::uint8_t> bytes) const
{
  const auto size = static_cast<off_t>(bytes.size());
  bool done = ::ftruncate(descriptor_, size) == 0;
  for (off_t at = 0; done && at < size;) {
    const ssize_t count =
        ::pwrite(descriptor_, bytes.data() + at, static_cast<std::size_t>(size - at), at);
    done = count > 0;
    at += count;
  }
  if (!done) {
    throw std::runtime_error("cannot write " + path_.string());
  }
}

ScratchFolder::ScratchFolder()
{
  std::string name =
      (std::filesystem::temp_directory_path() / "torsowave-fuzz-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) {
    throw std::runtime_error("cannot create " + name);
  }
  path_ = name;
}

ScratchFolder::~ScratchFolder()
{
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}

void fill(const std::filesystem::path& path, std::span<const std::uint8_t> bytes)
{
  std::ofstream file(path, std::ios::binary);
  file << as_text(bytes.data(), bytes.size());
  file.close();
  if (!file) {
    throw std::runtime_error("cannot write " + path.string());
  }
}

Bytes content(const std::filesystem::path& path)
{
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void require(bool good, const char* what)
{
  if (!good) {
    std::fprintf(stderr, "let through: %s\n", what);
    std::abort();
  }
}

}  // namespace torsowave::fuzz
