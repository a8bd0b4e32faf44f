#include "app/terminal.hpp"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <system_error>

#include "postproc/atomic_file.hpp"

namespace torsowave::app {

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
    throw postproc::WriteError(
        fmt::format("cannot write the result to standard output: {}",
                    std::generic_category().message(errno)));
  }
}

void print_message(std::string_view text) noexcept
{
  (void)std::fwrite(text.data(), 1, text.size(), stderr);
}

}  // namespace torsowave::app
