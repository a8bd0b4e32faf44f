#include "geometry/pixel_cutter.hpp"

#include <algorithm>
#include <cmath>

namespace torsowave::geometry {
namespace {

constexpr int blocks_per_cell = 64;

/// Where pixels begin and end, in units from `low`.
[[nodiscard]] std::vector<std::int64_t> edges_of(int count, double corner, double pixel,
                                                 double low, double cell)
{
  constexpr double farthest = 0x1p60;
  std::vector<std::int64_t> edges;
  edges.reserve(static_cast<std::size_t>(count) + 1);
  for (int p = 0; p <= count; ++p) {
    const double at = (corner - low + p * pixel) / cell * PixelCutter::per_cell;
    edges.push_back(std::llround(std::clamp(at, -farthest, farthest)));
  }
  return edges;
}

}  // namespace

PixelCutter::PixelCutter(const LabelGrid& grid, std::span<const std::uint16_t> tissues,
                         const Raster& raster)
    : grid_(grid),
      tissues_(tissues),
      x_edges_(
          edges_of(grid.nx, grid.corner.x, grid.pixel_x, raster.corner.x, raster.cell)),
      y_edges_(
          edges_of(grid.ny, grid.corner.y, grid.pixel_y, raster.corner.y, raster.cell))
{
}

PixelCutter::Box PixelCutter::box(int i, int j, int size) const noexcept
{
  constexpr std::int64_t unit = per_cell / blocks_per_cell;
  return {i * unit, (i + size) * unit, j * unit, (j + size) * unit};
}

PixelCutter::Run PixelCutter::run_of(const std::vector<std::int64_t>& edges,
                                     std::int64_t from, std::int64_t to)
{
  // Pixel p goes from edge p to edge p + 1.
  const auto first = std::upper_bound(edges.begin(), edges.end(), from);
  const auto last = std::lower_bound(first, edges.end(), to);
  return {static_cast<int>(first - edges.begin()) - 1,
          static_cast<int>(last - edges.begin()) - 1};
}

std::uint16_t PixelCutter::tissue(int i, int j) const
{
  const bool inside = i >= 0 && j >= 0 && i < grid_.nx && j < grid_.ny;
  return inside ? tissues_[grid_.pixels[grid_.at(i, j)]] : std::uint16_t{0};
}

std::uint16_t PixelCutter::tissue_of_cell(const Box& box) const
{
  const std::int64_t x = box.x0 / per_cell * per_cell + per_cell / 2;
  const std::int64_t y = box.y0 / per_cell * per_cell + per_cell / 2;
  return tissue(run_of(x_edges_, x, x + 1).first, run_of(y_edges_, y, y + 1).first);
}

std::optional<std::uint16_t> PixelCutter::only_tissue(const Box& box) const
{
  const Run columns = run_of(x_edges_, box.x0, box.x1);
  const Run rows = run_of(y_edges_, box.y0, box.y1);
  const std::uint16_t first = tissue(columns.first, rows.first);
  for (int j = rows.first; j <= rows.last; ++j) {
    for (int i = columns.first; i <= columns.last; ++i) {
      if (tissue(i, j) != first) {
        return std::nullopt;
      }
    }
  }
  return first;
}

/// Calls `add` with each part of the box that lies in one pixel, or beyond the grid, and
/// its tissue.
template <class Add>
void PixelCutter::visit(const Box& box, const Add& add) const
{
  const Run columns = run_of(x_edges_, box.x0, box.x1);
  const Run rows = run_of(y_edges_, box.y0, box.y1);
  const auto begin = [](const std::vector<std::int64_t>& edges, int p, std::int64_t low) {
    return p < 0 ? low : std::max(low, edges[static_cast<std::size_t>(p)]);
  };
  const auto end = [](const std::vector<std::int64_t>& edges, int p, std::int64_t high) {
    const std::size_t next = p < 0 ? 0 : static_cast<std::size_t>(p) + 1;
    return next < edges.size() ? std::min(high, edges[next]) : high;
  };
  for (int j = rows.first; j <= rows.last; ++j) {
    for (int i = columns.first; i <= columns.last; ++i) {
      const Box part{begin(x_edges_, i, box.x0), end(x_edges_, i, box.x1),
                     begin(y_edges_, j, box.y0), end(y_edges_, j, box.y1)};
      add(part, tissue(i, j));
    }
  }
}

void PixelCutter::add(const Box& box, std::span<std::uint64_t> weights) const
{
  if (grid_.resampling == Resampling::nearest) {
    weights[tissue_of_cell(box)] +=
        static_cast<std::uint64_t>((box.x1 - box.x0) * (box.y1 - box.y0));
    return;
  }
  visit(box, [&](const Box& part, std::uint16_t tissue) {
    weights[tissue] +=
        static_cast<std::uint64_t>((part.x1 - part.x0) * (part.y1 - part.y0));
  });
}

void PixelCutter::add(const Box& box, const ConvexPolygon& piece,
                      std::span<std::uint64_t> weights) const
{
  const auto edge = static_cast<double>(box.x1 - box.x0);
  const auto count = [&](const ConvexPolygon& part, std::uint16_t tissue) {
    weights[tissue] +=
        static_cast<std::uint64_t>(std::llround(part.area() * edge * edge));
  };
  if (grid_.resampling == Resampling::nearest) {
    count(piece, tissue_of_cell(box));
    return;
  }
  const auto place = [&](std::int64_t at, std::int64_t low) {
    return static_cast<double>(at - low) / edge - 0.5;
  };
  visit(box, [&](const Box& part, std::uint16_t tissue) {
    count(piece.part({-1.0, 0.0, place(part.x0, box.x0)}, true)
              .part({1.0, 0.0, -place(part.x1, box.x0)}, true)
              .part({0.0, -1.0, place(part.y0, box.y0)}, true)
              .part({0.0, 1.0, -place(part.y1, box.y0)}, true),
          tissue);
  });
}

}  // namespace torsowave::geometry
