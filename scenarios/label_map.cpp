#include "scenarios/label_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <system_error>
#include <unordered_map>
#include <utility>

#include "scenarios/label_image.hpp"

namespace torsowave::scenarios {
namespace {

constexpr std::int32_t grey_to_colour = 0x010101;

/// Index of each label in the counts, looked up once for pixels that are alike.
class LabelIndex {
public:
  explicit LabelIndex(const std::vector<LabelCount>& counts) : counts_(counts) {}

  [[nodiscard]] std::size_t operator()(std::int32_t label)
  {
    if (counts_[last_].label != label) {
      const auto at = std::ranges::lower_bound(counts_, label, {}, &LabelCount::label);
      last_ = static_cast<std::size_t>(at - counts_.begin());
    }
    return last_;
  }

private:
  const std::vector<LabelCount>& counts_;
  std::size_t last_ = 0;
};

}  // namespace

std::string label_text(std::int32_t label, bool colour)
{
  return colour ? fmt::format("#{:06x}", label) : fmt::format("{}", label);
}

void choose_colour(LabelImage& image, bool with_colours)
{
  if (image.colour && !with_colours) {
    const bool grey = std::ranges::all_of(image.labels, [](std::int32_t label) {
      return label == (label & 0xff) * grey_to_colour;
    });
    if (grey) {
      image.colour = false;
      for (std::int32_t& label : image.labels) {
        label &= 0xff;
      }
    }
  } else if (!image.colour && with_colours) {
    const bool eight_bits = std::ranges::all_of(
        image.labels, [](std::int32_t label) { return label >= 0 && label < 256; });
    if (eight_bits) {
      image.colour = true;
      for (std::int32_t& label : image.labels) {
        label *= grey_to_colour;
      }
    }
  }
}

void mirror(LabelImage& image, bool left_right, bool front_back)
{
  const auto row = [&](int j) {
    return image.labels.begin() + static_cast<std::ptrdiff_t>(j) * image.nx;
  };
  for (int j = 0; left_right && j < image.ny; ++j) {
    std::reverse(row(j), row(j + 1));
  }
  for (int j = 0; front_back && j < image.ny / 2; ++j) {
    std::swap_ranges(row(j), row(j + 1), row(image.ny - 1 - j));
  }
}

void crop(LabelImage& image, const LabelCrop& part)
{
  const int width = part.columns[1] - part.columns[0] + 1;
  const int height = part.rows[1] - part.rows[0] + 1;
  std::vector<std::int32_t> kept;
  kept.reserve(static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
  for (int j = part.rows[0]; j <= part.rows[1]; ++j) {
    const auto begin = image.labels.begin() + static_cast<std::ptrdiff_t>(j) * image.nx +
                       part.columns[0];
    kept.insert(kept.end(), begin, begin + width);
  }
  image.labels = std::move(kept);
  image.nx = width;
  image.ny = height;
}

std::optional<std::vector<LabelCount>> count_labels(const LabelImage& image,
                                                    std::size_t most)
{
  std::unordered_map<std::int32_t, std::size_t> counts;
  for (auto at = image.labels.begin(); at != image.labels.end();) {
    const auto end =
        std::find_if(at, image.labels.end(), [&](std::int32_t l) { return l != *at; });
    counts[*at] += static_cast<std::size_t>(end - at);
    at = end;
    if (counts.size() > most) {
      return std::nullopt;
    }
  }
  std::vector<LabelCount> sorted;
  sorted.reserve(counts.size());
  for (const auto& [label, pixels] : counts) {
    sorted.push_back({label, pixels});
  }
  std::ranges::sort(sorted, {}, &LabelCount::label);
  return sorted;
}

geometry::LabelGrid grid_of(const LabelImage& image,
                            const std::vector<LabelCount>& counts,
                            const std::vector<std::string>& tissues)
{
  geometry::LabelGrid grid;
  grid.nx = image.nx;
  grid.ny = image.ny;
  std::vector<std::uint16_t> index;
  for (const std::string& tissue : tissues) {
    const auto found = std::ranges::find(grid.tissues, tissue);
    index.push_back(static_cast<std::uint16_t>(found - grid.tissues.begin()));
    if (found == grid.tissues.end()) {
      grid.tissues.push_back(tissue);
    }
  }
  LabelIndex index_of(counts);
  grid.pixels.reserve(image.labels.size());
  for (const std::int32_t label : image.labels) {
    grid.pixels.push_back(index[index_of(label)]);
  }
  return grid;
}

bool place_grid(geometry::LabelGrid& grid, std::array<double, 2> pixel,
                geometry::Point corner, std::string_view background)
{
  grid.pixel_x = pixel[0];
  grid.pixel_y = pixel[1];
  grid.corner = corner;
  int low_i = grid.nx;
  int high_i = -1;
  int low_j = grid.ny;
  int high_j = -1;
  for (int j = 0; j < grid.ny; ++j) {
    for (int i = 0; i < grid.nx; ++i) {
      if (grid.tissues[grid.pixels[grid.at(i, j)]] != background) {
        low_i = std::min(low_i, i);
        high_i = std::max(high_i, i);
        low_j = std::min(low_j, j);
        high_j = j;
      }
    }
  }
  grid.body = {{corner.x + low_i * pixel[0], corner.y + low_j * pixel[1]},
               {corner.x + (high_i + 1) * pixel[0], corner.y + (high_j + 1) * pixel[1]}};
  return high_j >= 0;
}

std::string map_copy_name(const std::filesystem::path& file)
{
  const std::string name = file.filename().string();
  const bool packed = name.ends_with(".nii.gz");
  return "label_map.source" +
         (packed ? std::string(".nii.gz") : file.extension().string());
}

std::filesystem::path found_map_file(const std::filesystem::path& folder,
                                     const std::string& name)
{
  const std::filesystem::path copy = folder / map_copy_name(name);
  std::error_code error;
  const bool relative = std::filesystem::path(name).is_relative();
  return relative && std::filesystem::is_regular_file(copy, error) ? copy : folder / name;
}

}  // namespace torsowave::scenarios
