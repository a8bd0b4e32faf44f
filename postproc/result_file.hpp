/// \file
/// \brief result.h5: readable as netCDF-4, whole or absent.

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "postproc/atomic_file.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// What the file must know before the first snapshot comes.
struct SnapshotPlan {
  std::string field = "Ez";
  std::string units = "V/m";
  std::string long_name;
  int stride = 1;
  std::vector<double>
      shown{};  ///< moments worth a picture [s]: the first one from each on
};

/// Writes beside the final name and renames on commit(): a reader never meets half a
/// file. Snapshots go to disk as they come, so a long animation does not fill the memory.
/// What a result leaves empty is absent from the file. After a WriteError nothing is left
/// to do but to destroy the object.
class ResultFile {
public:
  /// Creates the temporary file beside `path`.
  /// \throws WriteError
  /// \throws std::invalid_argument  The stride is below 1.
  ResultFile(std::filesystem::path path, const GridInfo& grid,
             const std::optional<SnapshotPlan>& snapshots);

  /// Removes the temporary file unless commit() was reached.
  ~ResultFile();
  ResultFile(const ResultFile&) = delete;
  ResultFile& operator=(const ResultFile&) = delete;

  /// Appends one moment; its values cover every stride-th cell in y and x.
  /// \throws WriteError
  /// \throws std::invalid_argument  The number of values is another.
  /// \throws std::logic_error  No snapshots were planned, or commit() came before.
  void append(const Snapshot& snapshot);

  /// Writes everything else and moves the file to its final name.
  /// \throws WriteError
  /// \throws std::invalid_argument  An array does not fit its axes; the message names it.
  /// \throws std::logic_error  Called twice.
  void commit(const Result& result);

private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace torsowave::postproc
