/// \file
/// \brief SIGINT and SIGTERM as a question that the time loop asks.

#pragma once

namespace torsowave::app {

/// While it lives, SIGINT and SIGTERM set a flag instead of ending the process.
class StopSignal {
public:
  StopSignal();
  ~StopSignal();
  StopSignal(const StopSignal&) = delete;
  StopSignal& operator=(const StopSignal&) = delete;

  [[nodiscard]] static bool requested() noexcept;

private:
  using Handler = void (*)(int);
  Handler interrupt_before_;
  Handler terminate_before_;
};

}  // namespace torsowave::app
