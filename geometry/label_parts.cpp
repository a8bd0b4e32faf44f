#include "geometry/label_parts.hpp"

#include <algorithm>
#include <numeric>

namespace torsowave::geometry {
namespace {

/// Pixels of one tissue beside each other in a row.
struct PixelRun {
  int first = 0;
  int last = 0;  ///< included
  std::uint16_t tissue = 0;
};

/// Runs joined to parts. A part is known by its first run.
class PartFinder {
public:
  explicit PartFinder(const LabelGrid& grid) : grid_(grid)
  {
    std::size_t above = 0;
    for (int j = 0; j < grid.ny; ++j) {
      const std::size_t begin = runs_.size();
      add_row(j);
      if (j > 0) {
        join(above, begin);
      }
      above = begin;
    }
  }

  /// Calls `tell` with tissue, pixels and whether it meets the rim, for each part.
  template <class Tell>
  void for_each_part(const Tell& tell)
  {
    for (std::size_t r = 0; r < runs_.size(); ++r) {
      const std::size_t root = root_of(r);
      if (root != r) {
        pixels_[root] += pixels_[r];
        rim_[root] = rim_[root] | rim_[r];
      }
    }
    for (std::size_t r = 0; r < runs_.size(); ++r) {
      if (parent_[r] == r) {
        tell(runs_[r].tissue, pixels_[r], rim_[r] != 0);
      }
    }
  }

private:
  void add_row(int j)
  {
    for (int i = 0; i < grid_.nx;) {
      const std::uint16_t tissue = grid_.pixels[grid_.at(i, j)];
      int last = i;
      while (last + 1 < grid_.nx && grid_.pixels[grid_.at(last + 1, j)] == tissue) {
        ++last;
      }
      parent_.push_back(runs_.size());
      runs_.push_back({i, last, tissue});
      pixels_.push_back(static_cast<std::size_t>(last - i) + 1);
      const bool rim = j == 0 || j == grid_.ny - 1 || i == 0 || last == grid_.nx - 1;
      rim_.push_back(rim ? 1 : 0);
      i = last + 1;
    }
  }

  /// Runs of one tissue that touch over pixel edges, in the rows that begin at `above`
  /// and at `row`.
  void join(std::size_t above, std::size_t row)
  {
    std::size_t a = above;
    std::size_t b = row;
    while (a < row && b < runs_.size()) {
      const bool touch =
          runs_[a].first <= runs_[b].last && runs_[b].first <= runs_[a].last;
      if (touch && runs_[a].tissue == runs_[b].tissue) {
        const std::size_t x = root_of(a);
        const std::size_t y = root_of(b);
        parent_[std::max(x, y)] = std::min(x, y);
      }
      (runs_[a].last < runs_[b].last ? a : b) += 1;
    }
  }

  [[nodiscard]] std::size_t root_of(std::size_t r)
  {
    while (parent_[r] != r) {
      parent_[r] = parent_[parent_[r]];
      r = parent_[r];
    }
    return r;
  }

  const LabelGrid& grid_;
  std::vector<PixelRun> runs_;
  std::vector<std::size_t> parent_;
  std::vector<std::size_t> pixels_;
  std::vector<std::uint8_t> rim_;
};

}  // namespace

LabelParts label_parts(const LabelGrid& grid, const std::string& background,
                       std::size_t small)
{
  LabelParts found;
  for (const std::string& tissue : grid.tissues) {
    found.tissues.push_back({tissue, 0, 0, 0});
  }
  PartFinder(grid).for_each_part([&](std::uint16_t t, std::size_t pixels, bool rim) {
    TissueParts& tissue = found.tissues[t];
    ++tissue.parts;
    const bool hole = tissue.tissue == background && !rim;
    found.holes += hole ? 1 : 0;
    if (pixels < small) {
      ++tissue.small;
      tissue.small_pixels += pixels;
      found.small_holes += hole ? 1 : 0;
    }
  });
  return found;
}

bool in_mapped_body(const LabelGrid& grid, const std::string& background, Point p)
{
  const std::ptrdiff_t start = pixel_at(grid, p);
  const auto is_background = [&](std::size_t pixel) {
    return grid.tissues[grid.pixels[pixel]] == background;
  };
  if (start < 0 || !is_background(static_cast<std::size_t>(start))) {
    return start >= 0;
  }
  const auto columns = static_cast<std::size_t>(grid.nx);
  std::vector<std::uint8_t> seen(grid.pixels.size(), 0);
  std::vector<std::size_t> open{static_cast<std::size_t>(start)};
  seen[open.front()] = 1;
  while (!open.empty()) {
    const std::size_t pixel = open.back();
    open.pop_back();
    const std::size_t i = pixel % columns;
    const std::size_t j = pixel / columns;
    if (i == 0 || j == 0 || i + 1 == columns ||
        j + 1 == static_cast<std::size_t>(grid.ny)) {
      return false;
    }
    for (const std::size_t next :
         {pixel - 1, pixel + 1, pixel - columns, pixel + columns}) {
      if (seen[next] == 0 && is_background(next)) {
        seen[next] = 1;
        open.push_back(next);
      }
    }
  }
  return true;
}

}  // namespace torsowave::geometry
