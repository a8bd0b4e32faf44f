/// \file
/// \brief What the fuzz targets make of their bytes: numbers, edits of a good file, a
/// file.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace torsowave::fuzz {

using Bytes = std::vector<std::uint8_t>;

/// Takes numbers from the bytes; 0 where there are none left.
class Input {
public:
  explicit Input(std::span<const std::uint8_t> bytes) : left_(bytes) {}

  [[nodiscard]] bool empty() const noexcept { return left_.empty(); }
  [[nodiscard]] std::uint64_t number(int bytes);
  /// Less than `end`, which is not 0.
  [[nodiscard]] std::size_t below(std::size_t end) { return number(4) % end; }

private:
  std::span<const std::uint8_t> left_;
};

/// `file` with the edits that `input` asks for: bytes and numbers overwritten, pieces
/// removed, doubled, the end cut.
[[nodiscard]] Bytes edited(Bytes file, Input& input);

/// A file in the folder for temporary files, removed at the end.
class ScratchFile {
public:
  ScratchFile();
  ~ScratchFile();
  ScratchFile(const ScratchFile&) = delete;
  ScratchFile& operator=(const ScratchFile&) = delete;

  /// Replaces its content.
  void fill(std::span<const std::uint8_t> bytes) const;
  [[nodiscard]] const std::filesystem::path& path() const noexcept { return path_; }

private:
  std::filesystem::path path_;
  int descriptor_;
};

/// A folder in the one for temporary files, removed at the end with all that it holds.
class ScratchFolder {
public:
  ScratchFolder();
  ~ScratchFolder();
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;

  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const
  {
    return path_ / name;
  }
  [[nodiscard]] const std::filesystem::path& path() const noexcept { return path_; }

private:
  std::filesystem::path path_;
};

/// Replaces the content of a file, or makes it.
void fill(const std::filesystem::path& path, std::span<const std::uint8_t> bytes);

[[nodiscard]] Bytes content(const std::filesystem::path& path);

[[nodiscard]] inline std::string_view as_text(const std::uint8_t* data, std::size_t size)
{
  return {reinterpret_cast<const char*>(data), size};
}

/// Ends the process as a sanitizer would: a reader has let something wrong through.
void require(bool good, const char* what);

}  // namespace torsowave::fuzz
