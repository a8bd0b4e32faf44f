/// \file
/// \brief The snapshots of an unfinished run, for the run that goes on from a checkpoint.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <vector>

#include "app/checkpoint_file.hpp"

namespace torsowave::app {

/// Frames one after another in a plain file. It only grows: a checkpoint says how many
/// frames it counts on and their check sum, and what a later crash left behind them is
/// cut off.
class FrameSpool {
public:
  /// \param values  of a frame
  FrameSpool(std::filesystem::path path, std::size_t values);

  /// Starts the file if it is the first frame.
  /// \param time  of the centre field [s]
  /// \throws postproc::WriteError
  void append(double time, const std::vector<float>& values);

  /// Forces all frames to disk. \throws postproc::WriteError  Also ever after it could
  /// not be done once: the system drops what it cannot write.
  void sync();

  [[nodiscard]] std::uint64_t frames() const noexcept { return frames_; }
  /// CRC-32 of all frames.
  [[nodiscard]] std::uint32_t check_sum() const noexcept { return sum_; }

  /// Reads the first `frames` frames again, one at a time, and goes on behind them.
  /// \throws solver::StateError  They are not those with this check sum.
  void replay(std::uint64_t frames, std::uint32_t check_sum,
              const std::function<void(double time, std::vector<float> values)>& frame);

private:
  void begin();
  void put(const void* data, std::size_t bytes);

  std::filesystem::path path_;
  std::size_t values_;
  FileHandle file_;
  std::uint64_t frames_ = 0;
  std::uint32_t sum_ = 0;
  bool lost_ = false;  ///< frames, when they could not be written
};

}  // namespace torsowave::app
