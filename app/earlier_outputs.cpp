#include "app/earlier_outputs.hpp"

#include <string>

#include "app/pictures.hpp"

namespace torsowave::app {
namespace {

[[nodiscard]] bool is_link_name(const std::string& name)
{
  return name == "link.json" || name == "link.csv" || name == "link.png" ||
         name == "coverage.h5" || name == "coverage.csv" ||
         (name.starts_with("coverage_") && name.ends_with(".png"));
}

}  // namespace

void remove_earlier_outputs(const std::filesystem::path& folder)
{
  if (!std::filesystem::exists(folder / "summary.json")) {
    return;
  }
  for (const std::filesystem::path& place : {folder, folder / rendered_folder}) {
    if (!std::filesystem::is_directory(place)) {
      continue;
    }
    for (const auto& entry : std::filesystem::directory_iterator(place)) {
      const std::string name = entry.path().filename().string();
      if (is_picture_name(name) || is_link_name(name)) {
        std::filesystem::remove(entry.path());
      }
    }
  }
}

}  // namespace torsowave::app
