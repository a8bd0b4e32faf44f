#include "app/frame_spool.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <span>
#include <system_error>
#include <utility>

namespace torsowave::app {
namespace {

[[noreturn]] void fail(const std::filesystem::path& path)
{
  throw postproc::WriteError(fmt::format("cannot write {}: {}", path.string(),
                                         std::generic_category().message(errno)));
}

}  // namespace

FrameSpool::FrameSpool(std::filesystem::path path, std::size_t values)
    : path_(std::move(path)), values_(values)
{
}

void FrameSpool::begin()
{
  file_.reset(std::fopen(path_.c_str(), "w+be"));
  if (!file_) {
    fail(path_);
  }
}

void FrameSpool::put(const void* data, std::size_t bytes)
{
  const std::span part(static_cast<const std::byte*>(data), bytes);
  if (std::fwrite(data, 1, bytes, file_.get()) != bytes) {
    lost_ = true;
    fail(path_);
  }
  sum_ = add_to_crc(sum_, part);
}

void FrameSpool::append(double time, const std::vector<float>& values)
{
  if (!file_) {
    begin();
  }
  put(&time, sizeof time);
  put(values.data(), values.size() * sizeof(float));
  ++frames_;
}

void FrameSpool::sync()
{
  if (lost_) {
    throw postproc::WriteError(
        fmt::format("cannot write {}: snapshots were lost when the disk took no more",
                    path_.string()));
  }
  if (file_ && (std::fflush(file_.get()) != 0 || ::fsync(::fileno(file_.get())) != 0)) {
    lost_ = true;
    fail(path_);
  }
}

void FrameSpool::replay(
    std::uint64_t frames, std::uint32_t check_sum,
    const std::function<void(double time, std::vector<float> values)>& frame)
{
  if (frames == 0) {
    return;  // append() starts the file
  }
  const auto refuse = [&](const char* why) {
    throw solver::StateError(
        fmt::format("needs the snapshots in {}, which {}", path_.string(), why));
  };
  file_.reset(std::fopen(path_.c_str(), "r+be"));
  if (!file_) {
    refuse("cannot be opened");
  }
  const std::size_t frame_bytes = sizeof(double) + values_ * sizeof(float);
  std::error_code error;
  const std::uint64_t size = std::filesystem::file_size(path_, error);
  if (error || size / frame_bytes < frames) {
    refuse("is truncated");
  }
  for (std::uint64_t n = 0; n < frames; ++n) {
    double time = 0.0;
    std::vector<float> values(values_);
    if (std::fread(&time, sizeof time, 1, file_.get()) != 1 ||
        std::fread(values.data(), sizeof(float), values_, file_.get()) != values_) {
      refuse("cannot be read");
    }
    sum_ = add_to_crc(sum_, std::as_bytes(std::span(&time, 1)));
    sum_ = add_to_crc(sum_, std::as_bytes(std::span(values)));
    frame(time, std::move(values));
  }
  if (sum_ != check_sum) {
    refuse("is damaged");
  }
  frames_ = frames;
  const auto end = static_cast<off_t>(frames * frame_bytes);
  if (::ftruncate(::fileno(file_.get()), end) != 0 ||
      ::fseeko(file_.get(), end, SEEK_SET) != 0) {
    fail(path_);
  }
}

}  // namespace torsowave::app
