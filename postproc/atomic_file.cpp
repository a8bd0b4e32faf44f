#include "postproc/atomic_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>
#include <utility>

namespace torsowave::postproc {
namespace {

[[noreturn]] void fail(const std::filesystem::path& path, int error)
{
  throw WriteError(fmt::format("cannot write {}: {}", path.string(),
                               std::generic_category().message(error)));
}

/// A file descriptor that is closed on every way out.
class Descriptor {
public:
  Descriptor(const std::filesystem::path& path, int flags,
             const std::filesystem::path& named)
      : id_(::open(path.c_str(), flags | O_CLOEXEC, 0666)), named_(named)
  {
    if (id_ < 0) {
      fail(named_, errno);
    }
  }
  ~Descriptor()
  {
    if (id_ >= 0) {
      ::close(id_);
    }
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;

  [[nodiscard]] int id() const noexcept { return id_; }

  void sync() const
  {
    if (::fsync(id_) != 0) {
      fail(named_, errno);
    }
  }

  /// Network file systems report a full disk as late as here.
  void close()
  {
    if (::close(std::exchange(id_, -1)) != 0) {
      fail(named_, errno);
    }
  }

private:
  int id_;
  const std::filesystem::path& named_;
};

/// Makes the new name itself durable. Not every file system can, and the file is whole
/// by then, so a refusal is no error.
void sync_folder(const std::filesystem::path& folder) noexcept
{
  const int id =
      ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (id >= 0) {
    ::fsync(id);
    ::close(id);
  }
}

}  // namespace

PartFile::PartFile(std::filesystem::path final_path)
    : final_path_(std::move(final_path)), part_path_(part_of(final_path_, ::getpid()))
{
  std::error_code ignored;
  std::filesystem::remove(part_path_, ignored);
  Descriptor(part_path_, O_WRONLY | O_CREAT | O_EXCL, final_path_).close();
}

std::filesystem::path PartFile::part_of(std::filesystem::path final_path, long process)
{
  return final_path += fmt::format(".{}.part", process);
}

PartFile::~PartFile()
{
  if (!committed_) {
    std::error_code ignored;
    std::filesystem::remove(part_path_, ignored);
  }
}

void PartFile::commit()
{
  Descriptor part(part_path_, O_RDWR, final_path_);
  part.sync();
  part.close();
  std::error_code error;
  std::filesystem::rename(part_path_, final_path_, error);
  if (error) {
    throw WriteError(
        fmt::format("cannot write {}: {}", final_path_.string(), error.message()));
  }
  committed_ = true;
  sync_folder(final_path_.parent_path());
}

void write_fully(int descriptor, std::string_view text, const std::filesystem::path& path)
{
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written >= 0) {
      text.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno != EINTR) {
      fail(path, errno);
    }
  }
}

void write_atomically(const std::filesystem::path& path, std::string_view text)
{
  PartFile part(path);
  Descriptor out(part.path(), O_WRONLY, path);
  write_fully(out.id(), text, path);
  out.close();
  part.commit();
}

}  // namespace torsowave::postproc
