/// \file
/// \brief SIGINT, SIGTERM and SIGHUP as a question that the time loop asks.

#pragma once

#include <array>

namespace torsowave::app {

/// While it lives, SIGINT, SIGTERM and SIGHUP set a flag instead of ending the process,
/// unless they were ignored already.
class StopSignal {
public:
  StopSignal();
  ~StopSignal();
  StopSignal(const StopSignal&) = delete;
  StopSignal& operator=(const StopSignal&) = delete;

  [[nodiscard]] static bool requested() noexcept;

private:
  using Handler = void (*)(int);
  std::array<Handler, 3> before_{};
};

}  // namespace torsowave::app
