#include "app/earlier_outputs.hpp"

#include <fmt/format.h>

#include <utility>

#include "app/pictures.hpp"
#include "postproc/atomic_file.hpp"
#include "scenarios/input_error.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] bool is_link_name(const std::string& name)
{
  return name == "link.json" || name == "link.csv" || name == "link.png" ||
         name == "coverage.h5" || name == "coverage.csv" || png_named("coverage_")(name);
}

void remove_files(const std::filesystem::path& folder,
                  const std::function<bool(const std::string& name)>& belongs)
{
  try {
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
      if (belongs(entry.path().filename().string())) {
        std::filesystem::remove(entry.path());
      }
    }
  } catch (const std::filesystem::filesystem_error& error) {
    throw postproc::WriteError(fmt::format("cannot remove {}: {}", error.path1().string(),
                                           error.code().message()));
  }
}

}  // namespace

void refuse_to_replace(const std::filesystem::path& folder, std::string_view mark,
                       std::string_view what)
{
  std::error_code unreachable;  // is told when the folder is made
  if (!folder.empty() && std::filesystem::exists(folder / mark, unreachable)) {
    scenarios::refuse({folder.string(), 0, 0},
                      fmt::format("holds {} already; choose another folder with -o, or "
                                  "--force to replace it",
                                  what));
  }
}

std::function<bool(const std::string& name)> png_named(std::string begin)
{
  return [begin = std::move(begin)](const std::string& name) {
    return name.starts_with(begin) && name.ends_with(".png");
  };
}

void remove_earlier(const std::filesystem::path& folder, std::string_view mark,
                    const std::function<bool(const std::string& name)>& belongs)
{
  if (std::filesystem::exists(folder / mark)) {
    remove_files(folder, belongs);
  }
}

void remove_earlier_outputs(const std::filesystem::path& folder)
{
  if (!std::filesystem::exists(folder / "summary.json")) {
    return;
  }
  const auto belongs = [](const std::string& name) {
    return is_picture_name(name) || is_link_name(name) || name == viewer_file ||
           name == "report.html" || name.starts_with("label_map.source.");
  };
  remove_files(folder, belongs);
  if (std::filesystem::is_directory(folder / rendered_folder)) {
    remove_files(folder / rendered_folder, belongs);
  }
}

}  // namespace torsowave::app
