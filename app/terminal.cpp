#include "app/terminal.hpp"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <system_error>

#include "postproc/atomic_file.hpp"

namespace torsowave::app {
namespace {

using Handler = void (*)(int);
Handler pipe_handler = SIG_DFL;  ///< as the parent process set it

}  // namespace

void tell_failed_writes() noexcept
{
  std::signal(SIGXFSZ, SIG_IGN);
  pipe_handler = std::signal(SIGPIPE, SIG_IGN);
}

std::optional<std::size_t> result_columns() noexcept
{
  winsize size{};
  if (isatty(STDOUT_FILENO) != 1 || ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 ||
      size.ws_col == 0) {
    return std::nullopt;
  }
  return size.ws_col;
}

void print_result(std::string_view text)
{
  (void)std::fwrite(text.data(), 1, text.size(), stdout);
  flush_results();
}

void flush_results()
{
  if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) {
    const int reason = errno;
    if (reason == EPIPE) {
      std::signal(SIGPIPE, pipe_handler);
      std::raise(SIGPIPE);
    }
    throw postproc::WriteError(
        fmt::format("cannot write the result to standard output: {}",
                    std::generic_category().message(reason)));
  }
}

void print_message(std::string_view text) noexcept
{
  (void)std::fwrite(text.data(), 1, text.size(), stderr);
}

}  // namespace torsowave::app
