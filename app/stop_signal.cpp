#include "app/stop_signal.hpp"

#include <array>
#include <csignal>
#include <cstddef>

namespace torsowave::app {
namespace {

constexpr std::array signals{SIGINT, SIGTERM, SIGHUP};

// The one thing that a signal handler may touch.
volatile std::sig_atomic_t stop_requested = 0;

void on_signal(int)
{
  stop_requested = 1;
}

}  // namespace

StopSignal::StopSignal()
{
  stop_requested = 0;
  for (std::size_t s = 0; s < signals.size(); ++s) {
    before_[s] = std::signal(signals[s], on_signal);
    if (before_[s] == SIG_IGN) {  // e.g. SIGHUP under nohup
      std::signal(signals[s], SIG_IGN);
    }
  }
}

StopSignal::~StopSignal()
{
  for (std::size_t s = 0; s < signals.size(); ++s) {
    std::signal(signals[s], before_[s]);
  }
}

bool StopSignal::requested() noexcept
{
  return stop_requested != 0;
}

}  // namespace torsowave::app
