#include "postproc/figure_raster.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace torsowave::postproc {
namespace {

/// The samples under one pixel along one axis, with their shares of it (which add up to
/// 1).
struct Footprint {
  std::size_t first = 0;
  std::vector<double> shares;
};

/// Ends of the samples' stretches [cells], (kept + 1): the first begins at 0, the last
/// ends at `cells`.
[[nodiscard]] std::vector<double> sample_edges(int cells, int stride)
{
  const int count = kept(cells, stride);
  std::vector<double> edges(static_cast<std::size_t>(count) + 1);
  for (int i = 1; i < count; ++i) {
    edges[static_cast<std::size_t>(i)] = i * stride + 0.5 - 0.5 * stride;
  }
  edges.back() = cells;
  return edges;
}

[[nodiscard]] std::vector<Footprint> footprints(int cells, int stride, int pixels)
{
  const std::vector<double> edges = sample_edges(cells, stride);
  std::vector<Footprint> result(static_cast<std::size_t>(pixels));
  for (int p = 0; p < pixels; ++p) {
    const double low = static_cast<double>(p) * cells / pixels;
    const double high = static_cast<double>(p + 1) * cells / pixels;
    const auto above = std::upper_bound(edges.begin(), edges.end() - 1, low);
    Footprint& print = result[static_cast<std::size_t>(p)];
    print.first = static_cast<std::size_t>(above - edges.begin()) - 1;
    for (std::size_t i = print.first; i + 1 < edges.size() && edges[i] < high; ++i) {
      const double shared = std::min(high, edges[i + 1]) - std::max(low, edges[i]);
      print.shares.push_back(std::max(0.0, shared) / (high - low));
    }
  }
  return result;
}

[[nodiscard]] Color mean_color(const CellColors& cells, std::size_t row_length,
                               const Footprint& rows, const Footprint& columns)
{
  std::array<double, 3> sum{};
  for (std::size_t j = 0; j < rows.shares.size(); ++j) {
    const Color* row = &cells.colors[(rows.first + j) * row_length + columns.first];
    for (std::size_t i = 0; i < columns.shares.size(); ++i) {
      const double share = rows.shares[j] * columns.shares[i];
      sum[0] += share * row[i].red;
      sum[1] += share * row[i].green;
      sum[2] += share * row[i].blue;
    }
  }
  const auto channel = [](double value) {
    return static_cast<std::uint8_t>(std::lround(std::clamp(value, 0.0, 255.0)));
  };
  return {channel(sum[0]), channel(sum[1]), channel(sum[2])};
}

/// Labels by column and row, and where a corner between cells falls on the picture.
struct LabelGrid {
  const Box& box;
  int nx;
  int ny;
  std::span<const std::uint16_t> labels;

  [[nodiscard]] std::uint16_t label(int i, int j) const
  {
    return labels[static_cast<std::size_t>(j) * static_cast<std::size_t>(nx) +
                  static_cast<std::size_t>(i)];
  }
  [[nodiscard]] Point at(double x, double y) const
  {
    return {box.left + box.width * x / nx, box.bottom() - box.height * y / ny};
  }
};

/// Outline within the square of cell centres about the corner (i, j), the lower left one
/// of cell (i, j). Each side of a cell that ends there and separates two labels is drawn
/// from its middle to `cut` cells before the corner; two such ends are joined directly,
/// more of them meet at the corner.
void add_corner(Coverage& coverage, const LabelGrid& grid, int i, int j, double cut,
                double thickness)
{
  const std::uint16_t lower_left = grid.label(i - 1, j - 1);
  const std::uint16_t lower_right = grid.label(i, j - 1);
  const std::uint16_t upper_left = grid.label(i - 1, j);
  const std::uint16_t upper_right = grid.label(i, j);
  std::array<Point, 4> ends{};
  std::size_t count = 0;
  const auto add = [&](bool differs, double dx, double dy) {
    if (differs) {
      ends[count] = grid.at(i + cut * dx, j + cut * dy);
      coverage.add_segment(grid.at(i + 0.5 * dx, j + 0.5 * dy), ends[count], thickness);
      ++count;
    }
  };
  add(lower_left != lower_right, 0.0, -1.0);
  add(upper_left != upper_right, 0.0, 1.0);
  add(lower_left != upper_left, -1.0, 0.0);
  add(lower_right != upper_right, 1.0, 0.0);
  if (count == 2) {
    coverage.add_segment(ends[0], ends[1], thickness);
    return;
  }
  for (std::size_t k = 0; k < count; ++k) {
    coverage.add_segment(ends[k], grid.at(i, j), thickness);
  }
}

}  // namespace

int kept(int cells, int stride) noexcept
{
  return (cells + stride - 1) / stride;
}

void paint_cells(Canvas& canvas, const Box& box, const CellColors& cells)
{
  const Box place = canvas.scale().of(box);
  const int left = static_cast<int>(std::lround(place.left));
  const int top = static_cast<int>(std::lround(place.top));
  const int width = static_cast<int>(std::lround(place.right())) - left;
  const int height = static_cast<int>(std::lround(place.bottom())) - top;
  const std::vector<Footprint> columns = footprints(cells.nx, cells.stride, width);
  const std::vector<Footprint> rows = footprints(cells.ny, cells.stride, height);
  const auto row_length = static_cast<std::size_t>(kept(cells.nx, cells.stride));
  for (int y = 0; y < height; ++y) {
    const Footprint& row = rows[static_cast<std::size_t>(height - 1 - y)];
    for (int x = 0; x < width; ++x) {
      const Color color =
          mean_color(cells, row_length, row, columns[static_cast<std::size_t>(x)]);
      canvas.blend(left + x, top + y, color, 1.0F);
    }
  }
}

void add_outlines(Coverage& coverage, const Box& box, int nx, int ny,
                  std::span<const std::uint16_t> labels, double thickness)
{
  constexpr double largest_cut =
      2.0;  // on the page, so that large cells keep their corners
  const double cut = std::min(0.5, largest_cut * nx / box.width);
  const LabelGrid grid{box, nx, ny, labels};
  for (int j = 1; j < ny; ++j) {
    for (int i = 1; i < nx; ++i) {
      add_corner(coverage, grid, i, j, cut, thickness);
    }
  }
}

}  // namespace torsowave::postproc
