#include "postproc/figure_check.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>
#include <vector>

#include "postproc/figure_scale.hpp"

namespace torsowave::postproc {

void require_size(std::string_view what, std::size_t have, std::size_t want)
{
  if (have != want) {
    throw std::invalid_argument(
        fmt::format("{}: {} values where {} are needed", what, have, want));
  }
}

void require_tissues(const Result& result)
{
  require_size("tissue labels", result.labels.size(), cell_count(result.grid));
  require_size("tissue titles", result.tissue_titles.size(), result.tissues.size());
  const auto largest = std::max_element(result.labels.begin(), result.labels.end());
  if (largest != result.labels.end() && *largest >= result.tissues.size()) {
    throw std::invalid_argument(fmt::format("tissue label {} where there are {} tissues",
                                            *largest, result.tissues.size()));
  }
}

void require_frequency(const Result& result, std::size_t frequency)
{
  if (frequency < result.frequencies.size()) {
    return;
  }
  std::string known;
  for (const FrequencyResult& each : result.frequencies) {
    known += (known.empty() ? "" : ", ") + frequency_text(each.frequency);
  }
  throw std::invalid_argument(
      fmt::format("no frequency of index {} in the result, which has {} ({})", frequency,
                  result.frequencies.size(), known.empty() ? "none" : known));
}

std::size_t cell_count(const GridInfo& grid) noexcept
{
  return static_cast<std::size_t>(std::max(grid.nx, 0)) *
         static_cast<std::size_t>(std::max(grid.ny, 0));
}

std::string describe(const Result& result)
{
  std::string text =
      fmt::format("{}, cells of {:.4g} mm", result.mode, result.grid.cell * 1e3);
  return result.title.empty() ? text : fmt::format("{} – {}", result.title, text);
}

}  // namespace torsowave::postproc
