#include "app/folder_lock.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <string>
#include <system_error>
#include <utility>

#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] long read_holder(int descriptor)
{
  std::array<char, 24> text{};
  const ssize_t size = ::pread(descriptor, text.data(), text.size(), 0);
  long holder = 0;
  if (size > 0) {
    std::from_chars(text.data(), text.data() + size, holder);
  }
  return holder;
}

}  // namespace

FolderLock::FolderLock(std::filesystem::path file) : file_(std::move(file))
{
  bool locked = false;
  for (;;) {
    descriptor_ = ::open(file_.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (descriptor_ < 0) {
      throw postproc::WriteError(fmt::format("cannot write {}: {}", file_.string(),
                                             std::generic_category().message(errno)));
    }
    locked = ::flock(descriptor_, LOCK_EX | LOCK_NB) == 0;
    if (!locked && errno == EWOULDBLOCK) {
      const long holder = read_holder(descriptor_);
      ::close(descriptor_);
      scenarios::refuse({file_.parent_path().string(), 0, 0},
                        fmt::format("process {} is running there with checkpoints; wait "
                                    "for it, or choose another folder with -o",
                                    holder));
    }
    if (!locked || is_current()) {
      break;
    }
    ::close(descriptor_);  // its holder has just removed the file: another one is due
  }
  // Where there are no locks, the holder may well be alive.
  killed_ = locked ? read_holder(descriptor_) : 0;
}

void FolderLock::sign() const
{
  std::array<char, 24> text{};
  const auto end = fmt::format_to_n(text.data(), text.size(), "{:<20}\n", ::getpid());
  // On a full disk the file names the holder before.
  static_cast<void>(::pwrite(descriptor_, text.data(), end.size, 0) < 0);
}

bool FolderLock::is_current() const
{
  struct stat held {};
  struct stat named {};
  return ::fstat(descriptor_, &held) == 0 && ::stat(file_.c_str(), &named) == 0 &&
         held.st_ino == named.st_ino && held.st_dev == named.st_dev;
}

FolderLock::~FolderLock()
{
  std::error_code ignored;
  std::filesystem::remove(file_, ignored);
  ::close(descriptor_);
}

}  // namespace torsowave::app
