/// \file
/// \brief A result folder that is filled at once, at the end.

#pragma once

#include <filesystem>
#include <vector>

namespace torsowave::app {

/// Makes a folder with those above it; at the end removes the ones that it made and that
/// are empty.
class MadeFolder {
public:
  /// \throws postproc::WriteError
  explicit MadeFolder(const std::filesystem::path& folder);
  ~MadeFolder();
  MadeFolder(const MadeFolder&) = delete;
  MadeFolder& operator=(const MadeFolder&) = delete;

private:
  void remove() const noexcept;

  std::vector<std::filesystem::path> made_;  ///< innermost first
};

/// Files are written to a hidden folder inside the target and moved up by commit().
class StagedFolder {
public:
  /// Creates the folders, so that an unwritable place fails before the run.
  /// \throws postproc::WriteError
  explicit StagedFolder(std::filesystem::path target);
  /// Removes what was not committed, and the folders that were created here if they are
  /// empty.
  ~StagedFolder();
  StagedFolder(const StagedFolder&) = delete;
  StagedFolder& operator=(const StagedFolder&) = delete;

  /// Where a process writes until then; stays behind if it is killed.
  [[nodiscard]] static std::filesystem::path stage_of(const std::filesystem::path& target,
                                                      long process);

  /// Where `name` is written before commit().
  [[nodiscard]] std::filesystem::path path(const std::filesystem::path& name) const
  {
    return stage_ / name;
  }

  /// Moves every file to the target, summary.json last: who sees it sees all the others.
  /// Without one among them that of the target stays.
  /// \throws postproc::WriteError
  void commit();

private:
  std::filesystem::path target_;
  MadeFolder target_folder_;
  std::filesystem::path stage_;
};

}  // namespace torsowave::app
