/// \file
/// \brief Files that are whole or absent: written beside their final name, then renamed.

#pragma once

#include <filesystem>
#include <stdexcept>
#include <string>
#include <string_view>

namespace torsowave::postproc {

/// A file could not be written; the message says which, and what the system said.
class WriteError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// A file that is being written as "<final name>.<process id>.part" in the same folder.
///
/// A process that is killed leaves that part behind and never touches the final name; the
/// next file of the same name and process id replaces it.
class PartFile {
public:
  /// Creates the empty part, so that a folder that cannot be written fails at once.
  /// \throws WriteError
  explicit PartFile(std::filesystem::path final_path);

  /// Removes the part unless commit() was reached.
  ~PartFile();
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;

  /// The part of a file that a process writes.
  [[nodiscard]] static std::filesystem::path part_of(std::filesystem::path final_path,
                                                     long process);

  /// Where to write until commit().
  [[nodiscard]] const std::filesystem::path& path() const noexcept { return part_path_; }
  [[nodiscard]] const std::filesystem::path& final_path() const noexcept
  {
    return final_path_;
  }

  /// Forces the part to disk and gives it its final name; what had that name is replaced.
  /// Whoever wrote the part has closed it before.
  /// \throws WriteError
  void commit();

private:
  std::filesystem::path final_path_;
  std::filesystem::path part_path_;
  bool committed_ = false;
};

/// Writes all of `text` to an open file descriptor.
/// \param path  named in the error
/// \throws WriteError
void write_fully(int descriptor, std::string_view text,
                 const std::filesystem::path& path);

/// Writes a small text file, whole or not at all.
/// \throws WriteError
void write_atomically(const std::filesystem::path& path, std::string_view text);

}  // namespace torsowave::postproc
