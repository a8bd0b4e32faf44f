#include "geometry/body_surface.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace torsowave::geometry {
namespace {

using Mask = std::vector<std::uint8_t>;

bool on_rim(const Raster& raster, int i, int j) noexcept
{
  return i == 0 || j == 0 || i == raster.nx - 1 || j == raster.ny - 1;
}

bool in_raster(const Raster& raster, int i, int j) noexcept
{
  return i >= 0 && j >= 0 && i < raster.nx && j < raster.ny;
}

/// Quanta of background in a cell.
int background_quanta(const TissueMap& map, std::size_t cell)
{
  const Share& first = map.palette[map.cells[cell]].front();  // shares ascend by tissue
  return first.tissue == 0 ? first.quanta : 0;
}

/// Centres of the body's cells that touch its outside [m].
std::vector<Point> outline_of(const Raster& raster, const Body& body)
{
  std::vector<Point> outline;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (body.cells[raster.at(i, j)] &&
          (on_rim(raster, i, j) || any_near(raster, body.cells, i, j, 0))) {
        outline.push_back({raster.x(i), raster.y(j)});
      }
    }
  }
  return outline;
}

/// The last place of the body along a ray from the origin [m], in steps of half a cell.
double last_on_ray(const Raster& raster, const Body& body, double angle)
{
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  const double longest = std::hypot(std::abs(raster.corner.x) + raster.nx * raster.cell,
                                    std::abs(raster.corner.y) + raster.ny * raster.cell);
  for (auto step = static_cast<long>(2.0 * longest / raster.cell); step >= 0; --step) {
    const double r = 0.5 * static_cast<double>(step) * raster.cell;
    const double i = std::floor((r * c - raster.corner.x) / raster.cell);
    const double j = std::floor((r * s - raster.corner.y) / raster.cell);
    if (i >= 0.0 && j >= 0.0 && i < raster.nx && j < raster.ny &&
        body.cells[raster.at(static_cast<int>(i), static_cast<int>(j))]) {
      return r + 0.5 * raster.cell;
    }
  }
  return 0.0;
}

}  // namespace

bool any_near(const Raster& raster, const Mask& mask, int i, int j, std::uint8_t value)
{
  for (int dj = -1; dj <= 1; ++dj) {
    for (int di = -1; di <= 1; ++di) {
      if (in_raster(raster, i + di, j + dj) && mask[raster.at(i + di, j + dj)] == value) {
        return true;
      }
    }
  }
  return false;
}

int body_quanta(const TissueMap& map, const Mask& body_cells, int i, int j)
{
  const std::size_t cell = map.raster.at(i, j);
  if (body_cells[cell] == 0) {
    return 0;
  }
  const int air = background_quanta(map, cell);
  const bool is_skin = air > 0 && any_near(map.raster, body_cells, i, j, 0);
  return is_skin ? fraction_quantum - air : fraction_quantum;
}

std::vector<std::uint8_t> fill_holes(const Raster& raster,
                                     const std::vector<std::uint8_t>& mask)
{
  Mask filled(raster.size(), 1);
  std::vector<std::pair<int, int>> open;
  const auto reach = [&](int i, int j) {
    if (in_raster(raster, i, j) && mask[raster.at(i, j)] == 0 &&
        filled[raster.at(i, j)]) {
      filled[raster.at(i, j)] = 0;
      open.emplace_back(i, j);
    }
  };
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (on_rim(raster, i, j)) {
        reach(i, j);
      }
    }
  }
  while (!open.empty()) {
    const auto [i, j] = open.back();
    open.pop_back();
    reach(i - 1, j);
    reach(i + 1, j);
    reach(i, j - 1);
    reach(i, j + 1);
  }
  return filled;
}

BodyReach body_reach(const Raster& raster, const Body& body,
                     std::span<const double> angles)
{
  BodyReach reach;
  for (const double angle : angles) {
    reach.to_skin.push_back(last_on_ray(raster, body, angle));
  }
  // The largest width over all directions is the largest distance of two points.
  const std::vector<Point> outline = outline_of(raster, body);
  constexpr int directions = 180;
  for (int n = 0; n < directions; ++n) {
    const double angle = std::numbers::pi * n / directions;
    const double c = std::cos(angle);
    const double s = std::sin(angle);
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    for (const Point& p : outline) {
      const double along = p.x * c + p.y * s;
      low = std::min(low, along);
      high = std::max(high, along);
    }
    reach.extent = std::max(reach.extent, high - low + raster.cell);
  }
  return reach;
}

Contour contour_of(const Raster& raster, Mask inside)
{
  if (inside.size() != raster.size()) {
    throw std::invalid_argument(fmt::format("the mask has {} cells and the raster {}",
                                            inside.size(), raster.size()));
  }
  Contour contour;
  constexpr std::array<std::pair<int, int>, 4> normals{
      {{0, -1}, {-1, 0}, {1, 0}, {0, 1}}};
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (!inside[raster.at(i, j)]) {
        continue;
      }
      if (on_rim(raster, i, j)) {
        throw std::invalid_argument(
            fmt::format("a contour must stay off the rim of the grid, and cell ({}, {}) "
                        "of {} x {} is "
                        "inside it",
                        i, j, raster.nx, raster.ny));
      }
      for (const auto& [di, dj] : normals) {
        if (!inside[raster.at(i + di, j + dj)]) {
          contour.edges.push_back({i, j, di, dj});
        }
      }
    }
  }
  contour.inside = std::move(inside);
  return contour;
}

Contour rectangle_contour(const Raster& raster, int margin)
{
  if (margin < 1 || margin > (std::min(raster.nx, raster.ny) - 1) / 2) {
    throw std::invalid_argument(fmt::format(
        "a rectangle {} cells from the rim of {} x {} cells: the margin must be "
        ">= 1 and leave at least one cell",
        margin, raster.nx, raster.ny));
  }
  Mask inside(raster.size(), 0);
  for (int j = margin; j < raster.ny - margin; ++j) {
    for (int i = margin; i < raster.nx - margin; ++i) {
      inside[raster.at(i, j)] = 1;
    }
  }
  return contour_of(raster, std::move(inside));
}

Body find_body(const TissueMap& map)
{
  const Raster& raster = map.raster;
  Mask solid(raster.size(), 0);
  for (std::size_t n = 0; n < solid.size(); ++n) {
    solid[n] = background_quanta(map, n) < fraction_quantum ? 1 : 0;
  }
  Body body;
  body.cells = fill_holes(raster, solid);
  // Sums in whole numbers: quanta, and quanta times twice the columns and rows.
  std::int64_t columns = 0;
  std::int64_t rows = 0;
  std::int64_t quanta = 0;
  int clearance = std::numeric_limits<int>::max();
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (!body.cells[raster.at(i, j)]) {
        continue;
      }
      const std::int64_t part = body_quanta(map, body.cells, i, j);
      quanta += part;
      columns += part * (2 * i + 1);
      rows += part * (2 * j + 1);
      clearance = std::min({clearance, i, j, raster.nx - 1 - i, raster.ny - 1 - j});
    }
  }
  if (quanta == 0) {
    throw std::invalid_argument("the slice holds nothing but background, so no body");
  }
  const auto all = static_cast<double>(quanta);
  body.centroid = {raster.x_of(0.5 * static_cast<double>(columns) / all),
                   raster.y_of(0.5 * static_cast<double>(rows) / all)};
  body.area = all / fraction_quantum * raster.cell * raster.cell;
  body.clearance = clearance;
  return body;
}

Contour body_surface(const TissueMap& map, const Body& body)
{
  if (body.clearance < 2) {
    throw std::invalid_argument(fmt::format(
        "the body's surface needs 2 cells of background between it and the rim of "
        "the grid, and there are {}: use a larger margin",
        body.clearance));
  }
  Mask grown(map.raster.size(), 0);
  for (int j = 0; j < map.raster.ny; ++j) {
    for (int i = 0; i < map.raster.nx; ++i) {
      grown[map.raster.at(i, j)] = any_near(map.raster, body.cells, i, j, 1) ? 1 : 0;
    }
  }
  return contour_of(map.raster, fill_holes(map.raster, grown));
}

}  // namespace torsowave::geometry
