#include "geometry/label_grid.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace torsowave::geometry {
namespace {

constexpr int most_along = 32768;

[[nodiscard]] bool is_size(double value)
{
  return std::isfinite(value) && value > 0.0;
}

}  // namespace

std::ptrdiff_t pixel_at(const LabelGrid& grid, Point p) noexcept
{
  constexpr double on_edge = 1e-6;
  const double i = std::floor((p.x - grid.corner.x) / grid.pixel_x + on_edge);
  const double j = std::floor((p.y - grid.corner.y) / grid.pixel_y + on_edge);
  const bool inside = i >= 0.0 && j >= 0.0 && i < grid.nx && j < grid.ny;
  return inside ? static_cast<std::ptrdiff_t>(
                      grid.at(static_cast<int>(i), static_cast<int>(j)))
                : -1;
}

void require_sound(const LabelGrid& grid)
{
  const bool counted = grid.nx > 0 && grid.ny > 0 && grid.nx <= most_along &&
                       grid.ny <= most_along &&
                       grid.pixels.size() == static_cast<std::size_t>(grid.nx) *
                                                 static_cast<std::size_t>(grid.ny);
  if (!counted) {
    throw std::invalid_argument(fmt::format(
        "a label map needs 1 to {} pixels each way, got {} x {} and {} of them",
        most_along, grid.nx, grid.ny, grid.pixels.size()));
  }
  if (!is_size(grid.pixel_x) || !is_size(grid.pixel_y) || !std::isfinite(grid.corner.x) ||
      !std::isfinite(grid.corner.y) || !is_size(grid.body.max.x - grid.body.min.x) ||
      !is_size(grid.body.max.y - grid.body.min.y)) {
    throw std::invalid_argument(
        "a label map needs pixels > 0 [m], a finite corner and a body");
  }
  const auto largest = std::ranges::max(grid.pixels);
  if (largest >= grid.tissues.size() ||
      grid.tissues.size() >= std::numeric_limits<std::uint16_t>::max()) {
    throw std::invalid_argument(
        fmt::format("a label map has pixels of tissue {} and {} tissues", largest,
                    grid.tissues.size()));
  }
}

}  // namespace torsowave::geometry
