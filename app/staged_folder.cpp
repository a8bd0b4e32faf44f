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

MadeFolder::MadeFolder(const fs::path& folder)
{
  std::error_code error;
  for (fs::path missing = folder; !missing.empty() && !fs::exists(missing, error);
       missing = missing.parent_path()) {
    made_.push_back(missing);
  }
  fs::create_directories(folder, error);
  if (error) {
    remove();
    fail(folder, error);
  }
}

MadeFolder::~MadeFolder()
{
  remove();
}

void MadeFolder::remove() const noexcept
{
  std::error_code ignored;
  for (const fs::path& folder : made_) {
    fs::remove(folder, ignored);  // only if it is empty
  }
}

StagedFolder::StagedFolder(fs::path target)
    : target_(std::move(target)),
      target_folder_(target_),
      stage_(stage_of(target_, ::getpid()))
{
  std::error_code error;
  fs::remove_all(stage_, error);  // of a killed process that had our number
  fs::create_directory(stage_, error);
  if (error) {
    fail(target_, error);
  }
}

fs::path StagedFolder::stage_of(const fs::path& target, long process)
{
  return target / fmt::format(".run-{}.part", process);
}

StagedFolder::~StagedFolder()
{
  std::error_code ignored;
  fs::remove_all(stage_, ignored);
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
