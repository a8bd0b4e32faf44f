#include "app/snapshot_writer.hpp"

#include <utility>

namespace torsowave::app {
namespace {

constexpr std::size_t most_waiting = 4;

}  // namespace

SnapshotWriter::SnapshotWriter(postproc::ResultFile& file)
    : file_(file), thread_([this] { work(); })
{
}

SnapshotWriter::~SnapshotWriter()
{
  {
    const std::lock_guard lock(mutex_);
    stopped_ = true;
    waiting_.clear();
  }
  changed_.notify_all();
  thread_.join();
}

void SnapshotWriter::append(postproc::Snapshot snapshot)
{
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [this] { return failure_ || waiting_.size() < most_waiting; });
  if (failure_) {
    std::rethrow_exception(failure_);
  }
  waiting_.push_back(std::move(snapshot));
  changed_.notify_all();
}

void SnapshotWriter::finish()
{
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [this] { return failure_ || (waiting_.empty() && !writing_); });
  if (failure_) {
    std::rethrow_exception(failure_);
  }
}

void SnapshotWriter::work()
{
  std::unique_lock lock(mutex_);
  for (;;) {
    changed_.wait(lock, [this] { return stopped_ || !waiting_.empty(); });
    if (stopped_) {
      return;
    }
    const postproc::Snapshot snapshot = std::move(waiting_.front());
    waiting_.pop_front();
    writing_ = true;
    lock.unlock();
    std::exception_ptr failure;
    try {
      file_.append(snapshot);
    } catch (...) {
      failure = std::current_exception();
    }
    lock.lock();
    writing_ = false;
    failure_ = failure;
    stopped_ = stopped_ || failure;
    changed_.notify_all();
  }
}

}  // namespace torsowave::app
