/// \file
/// \brief result.h5: readable as netCDF-4, whole or absent.

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "postproc/atomic_file.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// What the file must know before the first snapshot comes.
struct SnapshotPlan {
  std::string field = "Ez";
  std::string units = "V/m";
  std::string long_name;
  int stride = 1;
};

/// Writes beside the final name and renames on commit(): a reader never meets half a
/// file. Snapshots go to disk as they come, so a long animation does not fill the memory.
class ResultFile {
public:
  /// Creates the temporary file beside `path`.
  /// \throws WriteError
  ResultFile(std::filesystem::path path, const GridInfo& grid,
             const std::optional<SnapshotPlan>& snapshots);

  /// Removes the temporary file unless commit() was reached.
  ~ResultFile();
  ResultFile(const ResultFile&) = delete;
  ResultFile& operator=(const ResultFile&) = delete;

  /// Appends one moment; its values cover every stride-th cell in y and x.
  /// \throws WriteError
  void append(const Snapshot& snapshot);

  /// Writes everything else and moves the file to its final name.
  /// \throws WriteError
  void commit(const Result& result);

private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace torsowave::postproc
