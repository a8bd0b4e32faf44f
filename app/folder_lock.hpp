/// \file
/// \brief One process at a time in a folder, also on a shared file system.

#pragma once

#include <filesystem>

namespace torsowave::app {

/// An advisory lock (flock(2)) on a file that names its holder. It ends with the process,
/// however that ends; the file of a killed holder stays and tells who it was. Where the
/// file system knows no locks there is none.
class FolderLock {
public:
  /// \throws scenarios::InputError  Another process holds the lock.
  /// \throws postproc::WriteError   The file cannot be made.
  explicit FolderLock(std::filesystem::path file);
  /// Removes the file.
  ~FolderLock();
  FolderLock(const FolderLock&) = delete;
  FolderLock& operator=(const FolderLock&) = delete;

  /// Process id of the last holder, which was killed; 0: none.
  [[nodiscard]] long killed_holder() const noexcept { return killed_; }

  /// Names this process as the holder, once what the killed one left is cleared away.
  void sign() const;

private:
  [[nodiscard]] bool is_current() const;

  std::filesystem::path file_;
  int descriptor_ = -1;
  long killed_ = 0;
};

}  // namespace torsowave::app
