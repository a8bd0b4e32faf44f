/// \file
/// \brief A folder of its own for a test, and a limit that stands for a full disk.

#pragma once

#include <gtest/gtest.h>
#include <sys/resource.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <stdexcept>
#include <string>

namespace torsowave::postproc {

/// Empty at first, removed with all that it holds.
class TemporaryFolder {
public:
  TemporaryFolder()
  {
    std::string name =
        (std::filesystem::temp_directory_path() / "torsowave-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) {
      throw std::runtime_error("cannot create " + name);
    }
    path_ = name;
  }
  ~TemporaryFolder()
  {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  [[nodiscard]] std::filesystem::path operator/(const std::string& name) const
  {
    return path_ / name;
  }
  [[nodiscard]] bool is_empty() const { return std::filesystem::is_empty(path_); }

private:
  std::filesystem::path path_;
};

/// While it lives, no file of this process can grow beyond `bytes`: write() then fails as
/// on a full disk, with EFBIG in place of ENOSPC.
class FileSizeLimit {
public:
  explicit FileSizeLimit(rlim_t bytes) : handler_(std::signal(SIGXFSZ, SIG_IGN))
  {
    ::getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit limited{.rlim_cur = bytes, .rlim_max = before_.rlim_max};
    if (::setrlimit(RLIMIT_FSIZE, &limited) != 0) {
      throw std::runtime_error("cannot limit the size of files");
    }
  }
  ~FileSizeLimit()
  {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    std::signal(SIGXFSZ, handler_);
  }
  FileSizeLimit(const FileSizeLimit&) = delete;
  FileSizeLimit& operator=(const FileSizeLimit&) = delete;

private:
  rlimit before_{};
  void (*handler_)(int);
};

/// What the exception says, or a failure where none of that type comes.
template <class Exception, class Action>
std::string message_of(Action action)
{
  try {
    action();
  } catch (const Exception& error) {
    return error.what();
  }
  ADD_FAILURE() << "nothing was thrown";
  return "";
}

}  // namespace torsowave::postproc
