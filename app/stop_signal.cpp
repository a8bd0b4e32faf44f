#include "app/stop_signal.hpp"

#include <csignal>

namespace torsowave::app {
namespace {

// The one thing that a signal handler may touch.
volatile std::sig_atomic_t stop_requested = 0;

void on_signal(int)
{
  stop_requested = 1;
}

}  // namespace

StopSignal::StopSignal()
    : interrupt_before_(std::signal(SIGINT, on_signal)),
      terminate_before_(std::signal(SIGTERM, on_signal))
{
  stop_requested = 0;
}

StopSignal::~StopSignal()
{
  std::signal(SIGINT, interrupt_before_);
  std::signal(SIGTERM, terminate_before_);
}

bool StopSignal::requested() noexcept
{
  return stop_requested != 0;
}

}  // namespace torsowave::app
