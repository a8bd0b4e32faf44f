/// \file
/// \brief A result.h5 read back, for pictures, reports and links without running again.

#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <vector>

#include "postproc/read_error.hpp"
#include "postproc/result.hpp"
#include "postproc/result_file.hpp"

namespace torsowave::postproc {

/// Everything that the file holds but its snapshots, as it was stored.
///
/// Sizes are checked against each other and against the file before memory is taken.
/// Files of the same format version that lack what was added later give the defaults of
/// Result there.
/// \throws ReadError  No such file, no result of this program, a newer format, damaged.
[[nodiscard]] Result read_result(const std::filesystem::path& result_h5);

/// The snapshots of a result.h5, one moment at a time.
///
/// The file stays open. HDF5 is not safe for several threads: use an object, and any
/// other reader or writer of HDF5, in one thread at a time.
class StoredSnapshots {
public:
  /// A file without snapshots gives a count of 0.
  /// \throws ReadError  \see read_result()
  explicit StoredSnapshots(const std::filesystem::path& result_h5);
  ~StoredSnapshots();
  StoredSnapshots(StoredSnapshots&&) noexcept;
  StoredSnapshots& operator=(StoredSnapshots&&) noexcept;
  StoredSnapshots(const StoredSnapshots&) = delete;
  StoredSnapshots& operator=(const StoredSnapshots&) = delete;

  [[nodiscard]] std::size_t count() const noexcept;

  /// Ascending [s], one for each moment.
  [[nodiscard]] const std::vector<double>& times() const noexcept;

  /// Which field, in which unit, and every how many cells.
  [[nodiscard]] const SnapshotPlan& plan() const noexcept;

  /// One moment, read now: (ny_kept, nx_kept), x fastest.
  /// \throws ReadError
  /// \throws std::out_of_range  There is no such moment.
  [[nodiscard]] Snapshot frame(std::size_t index) const;

private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace torsowave::postproc
