#include "app/staged_folder.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <system_error>
#include <utility>
#include <vector>

#include "postproc/atomic_file.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;

constexpr const char* summary = "summary.json";

[[noreturn]] void fail(const fs::path& path, const std::error_code& error)
{
  throw postproc::WriteError(
      fmt::format("cannot write {}: {}", path.string(), error.message()));
}

}  // namespace

StagedFolder::StagedFolder(fs::path target)
    : target_(std::move(target)), stage_(stage_of(target_, ::getpid()))
{
  std::error_code error;
  for (fs::path folder = stage_; !folder.empty() && !fs::exists(folder, error);
       folder = folder.parent_path()) {
    created_.push_back(folder);
  }
  fs::create_directories(stage_, error);
  if (error) {
    remove();
    fail(target_, error);
  }
}

fs::path StagedFolder::stage_of(const fs::path& target, long process)
{
  return target / fmt::format(".run-{}.part", process);
}

StagedFolder::~StagedFolder()
{
  remove();
}

void StagedFolder::remove() noexcept
{
  std::error_code ignored;
  fs::remove_all(stage_, ignored);
  for (const fs::path& folder : created_) {
    fs::remove(folder, ignored);  // only if it is empty
  }
}

void StagedFolder::commit()
{
  std::error_code error;
  if (fs::exists(stage_ / summary, error)) {
    fs::remove(target_ / summary, error);  // until all is there, none is
  }
  std::vector<fs::path> files;
  for (const fs::directory_entry& entry : fs::directory_iterator(stage_)) {
    files.push_back(entry.path());
  }
  std::stable_partition(files.begin(), files.end(),
                        [](const fs::path& p) { return p.filename() != summary; });
  for (const fs::path& file : files) {
    fs::rename(file, target_ / file.filename(), error);
    if (error) {
      fail(target_ / file.filename(), error);
    }
  }
}

}  // namespace torsowave::app
