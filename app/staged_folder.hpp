/// \file
/// \brief A result folder that is filled at once, at the end.

#pragma once

#include <filesystem>

namespace torsowave::app {

/// Files are written to a hidden folder inside the target and moved up by commit().
class StagedFolder {
public:
  /// Creates the folders, so that an unwritable place fails before the run.
  /// \throws postproc::WriteError
  explicit StagedFolder(std::filesystem::path target);
  /// Removes what was not committed, and the target too if it was created here and is
  /// empty.
  ~StagedFolder();
  StagedFolder(const StagedFolder&) = delete;
  StagedFolder& operator=(const StagedFolder&) = delete;

  /// Where `name` is written before commit().
  [[nodiscard]] std::filesystem::path path(const std::filesystem::path& name) const
  {
    return stage_ / name;
  }

  /// Moves every file to the target, summary.json last: who sees it sees all the others.
  /// \throws postproc::WriteError
  void commit();

private:
  std::filesystem::path target_;
  std::filesystem::path stage_;
  bool created_ = false;
};

}  // namespace torsowave::app
