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

[[noreturn]] void fail(const fs::path& path, const std::error_code& error)
{
  throw postproc::WriteError(
      fmt::format("{}: cannot be written: {}; choose another folder with "
                  "-o or free the disk",
                  path.string(), error.message()));
}

}  // namespace

StagedFolder::StagedFolder(fs::path target)
    : target_(std::move(target)),
      stage_(target_ / fmt::format(".run-{}.part", static_cast<long>(::getpid())))
{
  std::error_code error;
  created_ = fs::create_directories(target_, error);
  if (error) {
    fail(target_, error);
  }
  fs::create_directory(stage_, error);
  if (error) {
    fail(stage_, error);
  }
}

StagedFolder::~StagedFolder()
{
  std::error_code ignored;
  fs::remove_all(stage_, ignored);
  if (created_) {
    fs::remove(target_, ignored);  // only if it is empty
  }
}

void StagedFolder::commit()
{
  std::error_code error;
  std::vector<fs::path> files;
  for (const fs::directory_entry& entry : fs::directory_iterator(stage_)) {
    files.push_back(entry.path());
  }
  std::stable_partition(files.begin(), files.end(),
                        [](const fs::path& p) { return p.filename() != "summary.json"; });
  for (const fs::path& file : files) {
    fs::rename(file, target_ / file.filename(), error);
    if (error) {
      fail(target_ / file.filename(), error);
    }
  }
}

}  // namespace torsowave::app
