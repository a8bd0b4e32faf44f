/// \file
/// \brief One case of a sweep in a process of its own, so that what goes wrong there
/// costs that case alone.

#pragma once

#include <sys/types.h>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace torsowave::app {

/// How a process ended.
struct ProcessEnd {
  int code = 0;    ///< exit code; 0 where a signal ended it
  int signal = 0;  ///< that ended it
};

/// This program with other arguments. The destructor stops it and waits.
class CaseProcess {
public:
  /// \param arguments  those behind the program's name
  /// \param log        file that standard output and standard error are appended to
  /// \param inherited  descriptor that stays open in the process
  /// \throws MachineError  The process cannot be started.
  CaseProcess(const std::vector<std::string>& arguments, const std::filesystem::path& log,
              int inherited);
  ~CaseProcess();
  CaseProcess(CaseProcess&& other) noexcept;
  CaseProcess& operator=(CaseProcess&& other) noexcept;
  CaseProcess(const CaseProcess&) = delete;
  CaseProcess& operator=(const CaseProcess&) = delete;

  /// How it ended, if it has.
  [[nodiscard]] std::optional<ProcessEnd> poll();

  /// Asks it to stop: SIGTERM.
  void stop() const noexcept;

private:
  pid_t id_ = -1;  ///< -1: ended, or moved from
};

}  // namespace torsowave::app
