#include "app/progress_printer.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <chrono>
#include <string>

#include "app/clock_text.hpp"
#include "app/terminal.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] bool on_terminal() noexcept
{
  return ::isatty(STDERR_FILENO) != 0;
}

}  // namespace

std::function<void(const Progress&)> progress_printer()
{
  return [terminal = on_terminal(), calls = 0](const Progress& p) mutable {
    constexpr int calls_between_lines = 20;
    if (!terminal && calls++ % calls_between_lines != 0) {
      return;
    }
    print_message(
        fmt::format("{}{}step {}, {:.2f} ns, {:.0f} %, energy {:.0f} dB, about {} left{}",
                    terminal ? "\r" : "",
                    p.runs > 1 ? fmt::format("run {} of {}: ", p.run, p.runs) : "",
                    p.step, p.time * 1e9, 100.0 * p.fraction, p.energy_db,
                    clock_text(p.seconds_left), terminal ? "   " : "\n"));
  };
}

std::function<void(const SweepProgress&)> sweep_progress_printer()
{
  using Clock = std::chrono::steady_clock;
  return [terminal = on_terminal(),
          next = Clock::time_point::min()](const SweepProgress& p) mutable {
    if (Clock::now() < next) {
      return;
    }
    next = Clock::now() + (terminal ? std::chrono::milliseconds(200)
                                    : std::chrono::milliseconds(10'000));
    print_message(fmt::format(
        "{}{} of {} cases done, {} failed, {} running{}{}{}", terminal ? "\r" : "",
        p.done, p.total, p.failed, p.running,
        p.elsewhere > 0 ? fmt::format(", {} in another sweep", p.elsewhere) : "",
        p.seconds_left >= 0.0 ? fmt::format(", about {} left", clock_text(p.seconds_left))
                              : "",
        terminal ? "   " : "\n"));
  };
}

void clear_progress()
{
  if (on_terminal()) {
    print_message(fmt::format("\r{:90}\r", ""));
  }
}

}  // namespace torsowave::app
