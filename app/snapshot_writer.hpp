/// \file
/// \brief Writes snapshots while the run goes on.

#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <mutex>
#include <thread>

#include "postproc/result_file.hpp"

namespace torsowave::app {

/// A thread that appends moments to a result file in order. A few moments may wait; then
/// append() waits, so that memory stays bounded. Nobody else may touch the file until
/// finish().
class SnapshotWriter {
public:
  /// \param file  must outlive the writer
  explicit SnapshotWriter(postproc::ResultFile& file);

  /// Gives up what still waits.
  ~SnapshotWriter();
  SnapshotWriter(const SnapshotWriter&) = delete;
  SnapshotWriter& operator=(const SnapshotWriter&) = delete;

  /// \throws  What an earlier write threw.
  void append(postproc::Snapshot snapshot);

  /// Waits until all is written.
  /// \throws  What a write threw.
  void finish();

private:
  void work();

  postproc::ResultFile& file_;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<postproc::Snapshot> waiting_;
  bool writing_ = false;
  bool stopped_ = false;
  std::exception_ptr failure_;
  std::thread thread_;
};

}  // namespace torsowave::app
