#include "app/case_process.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <system_error>
#include <utility>

#include "app/machine_error.hpp"

namespace torsowave::app {
namespace {

/// What a child opens and closes before it begins.
class FileActions {
public:
  FileActions(const std::filesystem::path& log, int inherited)
  {
    posix_spawn_file_actions_init(&actions_);
    posix_spawn_file_actions_addopen(&actions_, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions_, STDOUT_FILENO, log.c_str(),
                                     O_WRONLY | O_CREAT | O_APPEND, 0666);
    posix_spawn_file_actions_adddup2(&actions_, STDOUT_FILENO, STDERR_FILENO);
    // Onto itself: takes off its close-on-exec flag (POSIX.1-2024; glibc from 2.29 on).
    posix_spawn_file_actions_adddup2(&actions_, inherited, inherited);
  }
  ~FileActions() { posix_spawn_file_actions_destroy(&actions_); }
  FileActions(const FileActions&) = delete;
  FileActions& operator=(const FileActions&) = delete;

  [[nodiscard]] const posix_spawn_file_actions_t* get() const { return &actions_; }

private:
  posix_spawn_file_actions_t actions_{};
};

}  // namespace

CaseProcess::CaseProcess(const std::vector<std::string>& arguments,
                         const std::filesystem::path& log, int inherited)
{
  std::vector<std::string> words{"torsowave"};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  argv.reserve(words.size() + 1);
  for (std::string& word : words) {
    argv.push_back(word.data());
  }
  argv.push_back(nullptr);
  const FileActions actions(log, inherited);
  // This very program, even if its file was replaced while the sweep runs.
  const int error =
      ::posix_spawn(&id_, "/proc/self/exe", actions.get(), nullptr, argv.data(), environ);
  if (error != 0) {
    id_ = -1;
    throw MachineError(fmt::format("cannot start a process for a case: {}",
                                   std::generic_category().message(error)));
  }
}

CaseProcess::~CaseProcess()
{
  if (id_ > 0) {
    stop();
    while (::waitpid(id_, nullptr, 0) < 0 && errno == EINTR) {
    }
  }
}

CaseProcess::CaseProcess(CaseProcess&& other) noexcept : id_(std::exchange(other.id_, -1))
{
}

CaseProcess& CaseProcess::operator=(CaseProcess&& other) noexcept
{
  std::swap(id_, other.id_);
  return *this;
}

std::optional<ProcessEnd> CaseProcess::poll()
{
  int status = 0;
  if (id_ <= 0 || ::waitpid(id_, &status, WNOHANG) != id_) {
    return std::nullopt;
  }
  id_ = -1;
  return WIFSIGNALED(status) ? ProcessEnd{0, WTERMSIG(status)}
                             : ProcessEnd{WEXITSTATUS(status), 0};
}

void CaseProcess::stop() const noexcept
{
  if (id_ > 0) {
    ::kill(id_, SIGTERM);
  }
}

}  // namespace torsowave::app
