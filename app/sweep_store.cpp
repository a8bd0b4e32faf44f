#include "app/sweep_store.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdint>
#include <cstring>
#include <fstream>
#include <iterator>
#include <system_error>
#include <utility>

#include "app/checkpoint_folder.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/sha256.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

constexpr const char* summary_name = "summary.json";
constexpr const char* scenario_name = "scenario.yaml";
constexpr const char* failure_name = "failure.txt";
constexpr const char* log_name = "log.txt";

[[noreturn]] void fail(const fs::path& path, const std::error_code& error)
{
  throw postproc::WriteError(
      fmt::format("cannot write {}: {}", path.string(), error.message()));
}

void require_folder(const fs::path& path)
{
  std::error_code error;
  fs::create_directories(path, error);
  if (error) {
    fail(path, error);
  }
}

void rename_or_fail(const fs::path& from, const fs::path& to)
{
  std::error_code error;
  fs::rename(from, to, error);
  if (error) {
    fail(to, error);
  }
}

/// Empty where the file cannot be read, or is larger than any of ours.
[[nodiscard]] std::string content(const fs::path& path)
{
  constexpr std::uintmax_t largest = std::uintmax_t{256} << 20U;
  std::error_code error;
  if (!fs::is_regular_file(path, error) || fs::file_size(path, error) > largest) {
    return "";
  }
  std::ifstream stream(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), {}};
}

void discard(const fs::path& path)
{
  std::error_code ignored;
  fs::remove_all(path, ignored);
}

}  // namespace

CaseLock::~CaseLock()
{
  if (descriptor_ >= 0) {
    ::close(descriptor_);
  }
}

CaseLock::CaseLock(CaseLock&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1))
{
}

CaseLock& CaseLock::operator=(CaseLock&& other) noexcept
{
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

std::string CaseFailure::line() const
{
  std::string text = message;
  while (!text.empty() && text.back() == '\n') {
    text.pop_back();
  }
  std::ranges::replace(text, '\n', ' ');
  return signal != 0 ? fmt::format("ended by signal {} ({}){}{}", signal,
                                   ::strsignal(signal), text.empty() ? "" : ": ", text)
                     : text;
}

void SweepStore::create() const
{
  for (const char* name : {"cases", "failed", "work"}) {
    require_folder(folder_ / name);
  }
}

fs::path SweepStore::finished(const std::string& id) const
{
  return folder_ / "cases" / id;
}

fs::path SweepStore::work(const std::string& id) const
{
  return folder_ / "work" / id;
}

fs::path SweepStore::work_result(const std::string& id) const
{
  return work(id) / "result";
}

bool SweepStore::is_finished(const std::string& id) const
{
  return fs::exists(finished(id));
}

std::optional<CaseFailure> SweepStore::failure(const std::string& id) const
{
  std::ifstream stream(folder_ / "failed" / id / failure_name, std::ios::binary);
  std::string kind;
  int number = 0;
  if (!(stream >> kind >> number)) {
    return std::nullopt;
  }
  stream.ignore(1);
  CaseFailure failure;
  (kind == "signal" ? failure.signal : failure.code) = number;
  failure.message = {std::istreambuf_iterator<char>(stream), {}};
  return failure;
}

std::optional<CaseLock> SweepStore::try_lock(const std::string& id) const
{
  const fs::path path = folder_ / "lock";
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (descriptor < 0) {
    fail(path, {errno, std::generic_category()});
  }
  CaseLock lock(descriptor);
  constexpr std::size_t digits_of_60_bits = 15;
  struct flock range {};
  range.l_type = F_WRLCK;
  range.l_whence = SEEK_SET;
  range.l_start =
      static_cast<off_t>(std::stoull(id.substr(0, digits_of_60_bits), nullptr, 16));
  range.l_len = 1;
  if (::fcntl(descriptor, F_OFD_SETLK, &range) == 0) {
    return lock;
  }
  if (errno != EAGAIN && errno != EACCES) {
    throw postproc::WriteError(fmt::format(
        "cannot lock {}: {}; keep the results on a file system with locks (NFS: version "
        "4, or 3 with its lock service)",
        path.string(), std::generic_category().message(errno)));
  }
  return std::nullopt;
}

void SweepStore::prepare(const std::string& id, const std::string& scenario) const
{
  const fs::path folder = work(id);
  if (!has_checkpoint(id)) {
    discard(folder);
  }
  require_folder(folder);
  postproc::write_atomically(folder / scenario_name, scenario);
}

bool SweepStore::has_checkpoint(const std::string& id) const
{
  return CheckpointFolder::holds_any(work_result(id));
}

void SweepStore::forget_checkpoint(const std::string& id) const
{
  discard(work(id));
}

bool SweepStore::has_result(const std::string& id, const std::string& scenario) const
{
  const std::string summary = content(work_result(id) / summary_name);
  if (summary.empty()) {
    return false;
  }
  try {
    return postproc::read_summary_values(summary).scenario_sha256 ==
           postproc::sha256(scenario);
  } catch (const postproc::SummaryError&) {
    return false;
  }
}

void SweepStore::accept(const std::string& id) const
{
  std::error_code ignored;
  for (const auto& entry : fs::directory_iterator(work_result(id), ignored)) {
    if (entry.path().filename().string().starts_with('.')) {
      discard(entry.path());  // what a run that was killed here before had begun
    }
  }
  // An interrupted accept() may have moved the log already.
  fs::rename(work(id) / log_name, work_result(id) / log_name, ignored);
  rename_or_fail(work_result(id), finished(id));
  discard(work(id));
  forget_failure(id);
}

void SweepStore::record(const std::string& id, const CaseFailure& failure) const
{
  postproc::write_atomically(
      work(id) / failure_name,
      fmt::format("{} {}\n{}", failure.signal != 0 ? "signal" : "code",
                  failure.signal != 0 ? failure.signal : failure.code, failure.message));
  discard(work_result(id));
  forget_failure(id);
  rename_or_fail(work(id), folder_ / "failed" / id);
}

void SweepStore::forget_failure(const std::string& id) const
{
  discard(folder_ / "failed" / id);
}

fs::path SweepStore::set_aside(const std::string& id) const
{
  require_folder(folder_ / "damaged");
  fs::path to = folder_ / "damaged" / id;
  for (int n = 2; fs::exists(to); ++n) {
    to = folder_ / "damaged" / fmt::format("{}-{}", id, n);
  }
  rename_or_fail(finished(id), to);
  return to;
}

postproc::SummaryValues SweepStore::values(const std::string& id,
                                           const std::string& scenario) const
{
  const fs::path folder = finished(id);
  postproc::SummaryValues values =
      postproc::read_summary_values(content(folder / summary_name));
  std::error_code error;
  const auto bytes = fs::file_size(folder / "result.h5", error);
  if (error || bytes == 0) {
    throw postproc::SummaryError("has no result.h5");
  }
  if (content(folder / scenario_name) != scenario ||
      values.scenario_sha256 != postproc::sha256(scenario)) {
    throw postproc::SummaryError("holds the result of another scenario");
  }
  return values;
}

void SweepStore::clean(const std::set<std::string>& ids) const
{
  std::error_code error;
  for (const auto& entry : fs::directory_iterator(folder_ / "work", error)) {
    const std::string id = entry.path().filename().string();
    const bool hexadecimal =
        id.size() >= 16 && id.find_first_not_of("0123456789abcdef") == std::string::npos;
    if (!hexadecimal || (ids.contains(id) && !is_finished(id))) {
      continue;
    }
    const auto lock = try_lock(id);
    if (lock && (is_finished(id) || !has_checkpoint(id))) {
      discard(entry.path());
    }
  }
}

}  // namespace torsowave::app
