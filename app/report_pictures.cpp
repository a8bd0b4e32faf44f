#include "app/report_pictures.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <system_error>

#include "app/report_parts.hpp"
#include "app/run_plan.hpp"
#include "postproc/atomic_file.hpp"
#include "postproc/figure_scale.hpp"

namespace torsowave::app {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr std::size_t most_frequencies = 6;

/// A folder of this process alone, gone with the object.
class ScratchFolder {
public:
  ScratchFolder()
  {
    std::string name = (fs::temp_directory_path() / "torsowave-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) {
      throw postproc::WriteError(
          fmt::format("cannot make a folder {}: {}; TMPDIR names another place", name,
                      std::generic_category().message(errno)));
    }
    path_ = name;
  }
  ~ScratchFolder()
  {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;

  [[nodiscard]] const fs::path& path() const noexcept { return path_; }

private:
  fs::path path_;
};

[[nodiscard]] std::string data_uri(const fs::path& path)
{
  std::ifstream file(path, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  return fmt::format("data:image/{};base64,{}",
                     path.extension() == ".svg" ? "svg+xml" : "png", base64(bytes));
}

/// Some of `count` frequencies, from the first to the last.
[[nodiscard]] std::vector<std::size_t> shown_frequencies(std::size_t count)
{
  const std::size_t shown = std::min(count, most_frequencies);
  std::vector<std::size_t> numbers;
  for (std::size_t n = 0; n < shown; ++n) {
    numbers.push_back(shown > 1 ? n * (count - 1) / (shown - 1) : 0);
  }
  return numbers;
}

/// What a picture shows, for those who do not see it.
[[nodiscard]] std::string alt_text(const std::string& quantity, const std::string& mode)
{
  static const std::map<std::string, std::string> texts{
      {"tissue", "The slice: which tissue is where, and the implant"},
      {"sar", "Specific absorption rate, in decibels by colour, over the slice"},
      {"surface_ring",
       "The body with a ring of sectors coloured by the power that leaves"},
      {"power_flow", "Power flow: its size by colour, its direction by arrows"},
      {"snapshot", "The field at moments of the run, over the layers"},
      {"spacetime", "The field by place and time"}};
  const bool row = mode == "1D";
  if (row && quantity == "tissue") {
    return "The layers and what they are";
  }
  if (row && quantity == "sar") {
    return "Specific absorption rate over the layers";
  }
  const auto found = texts.find(quantity);
  return found != texts.end()
             ? found->second
             : fmt::format(
                   "Size of {} {}", quantity,
                   row ? "over the layers" : "in decibels, by colour, over the slice");
}

}  // namespace

Json ReportPictures::of(const std::string& quantity) const
{
  Json pictures = Json::array();
  PictureOrder order;
  order.quantities = {quantity};
  order.frequencies = shown_frequencies(result_.frequencies.size());
  order.look.width = width_;
  order.curves_as = "svg";
  const ScratchFolder scratch;
  std::vector<std::string> names;
  std::vector<std::vector<std::string>> drawn;
  for (const postproc::Theme& theme : {postproc::light_theme, postproc::dark_theme}) {
    order.look.theme = theme;
    names = draw_pictures(order, result_, moments_,
                          [&](const std::string& file) { return scratch.path() / file; });
    drawn.emplace_back();
    for (const std::string& name : names) {
      drawn.back().push_back(data_uri(scratch.path() / name));
    }
  }
  const bool each = names.size() == order.frequencies.size() && names.size() > 1;
  for (std::size_t n = 0; n < names.size(); ++n) {
    const std::string at = each ? postproc::frequency_text(
                                      result_.frequencies[order.frequencies[n]].frequency)
                                : "";
    pictures.push_back(
        {{"name", at},
         {"alt", alt_text(quantity, result_.mode) + (each ? " at " + at : "")},
         {"light", drawn[0][n]},
         {"dark", drawn[1][n]}});
  }
  return pictures;
}

std::size_t ReportPictures::left_out() const
{
  return result_.frequencies.size() -
         shown_frequencies(result_.frequencies.size()).size();
}

}  // namespace torsowave::app
