/// \file
/// \brief When a run keeps its state, and how it goes on from it.

#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "app/checkpoint_file.hpp"

namespace torsowave::app {

/// What a checkpoint says while a run goes on; both may be empty.
struct CheckpointTalk {
  std::function<void(const std::string&)> announce;  ///< a line of text
  std::function<void(const std::string&)> warn;      ///< of what went wrong
};

/// The checkpoints of one time loop, in one file.
class Checkpoints {
public:
  using Save = std::function<void(solver::StateWriter&)>;
  using Restore = std::function<void(solver::StateReader&)>;

  /// \param at_end  keeps the state at the end of the loop, too
  Checkpoints(std::filesystem::path file, CheckpointIdentity identity, bool at_end,
              CheckpointTalk talk);

  /// Reads the file's header, if there is one: restore() will go on from it.
  /// \return  The interval that the file names [s]; 0: there is no file.
  /// \throws scenarios::InputError  It is damaged, or belongs to something else.
  double open();

  /// From the end of one checkpoint to the next [s]; 0: at every look.
  void set_interval(double every) noexcept { every_ = every; }

  /// Goes on from the file that was opened, if one was.
  /// \throws scenarios::InputError  It is damaged.
  void restore(const Restore& restore);

  /// Between two time steps. A periodic checkpoint that cannot be written is told; the
  /// one before stays, and the run goes on.
  /// \throws Suspended  After a signal, and the checkpoint is written.
  /// \throws postproc::WriteError  After a signal, and it could not be written.
  void look(long step, const Save& save);

  /// After the last observation.
  void end(long step, const Save& save);

private:
  void write(long step, const Save& save);
  void try_to_write(long step, const Save& save);

  std::filesystem::path file_;
  CheckpointIdentity identity_;
  double every_ = 0.0;
  bool at_end_;
  CheckpointTalk talk_;
  std::unique_ptr<CheckpointReader> reader_;
  std::chrono::steady_clock::time_point last_ = std::chrono::steady_clock::now();
};

}  // namespace torsowave::app
