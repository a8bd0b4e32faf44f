#include "geometry/straight_path.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

namespace torsowave::geometry {
namespace {

constexpr std::uint16_t background = 0;

[[nodiscard]] Point between(Point a, Point b, double part)
{
  return {a.x + part * (b.x - a.x), a.y + part * (b.y - a.y)};
}

/// Where along the line the tissue changes from that at `low` to another, parts in
/// [low, high].
[[nodiscard]] double change_at(const PaintStack& paint, Point from, Point to, double low,
                               double high)
{
  constexpr int halvings = 10;
  const std::uint16_t before = paint.tissue_at(between(from, to, low));
  for (int n = 0; n < halvings; ++n) {
    const double middle = 0.5 * (low + high);
    (paint.tissue_at(between(from, to, middle)) == before ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// Midpoint of the edge between a cell of the body and one outside that is nearest to a
/// point.
[[nodiscard]] std::optional<Point> nearest_edge(const Raster& raster, const Body& body,
                                                Point from)
{
  constexpr std::array<std::pair<int, int>, 4> sides{{{0, -1}, {-1, 0}, {1, 0}, {0, 1}}};
  std::optional<Point> nearest;
  double least = std::numeric_limits<double>::infinity();
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      if (body.cells[raster.at(i, j)] == 0) {
        continue;
      }
      for (const auto& [di, dj] : sides) {
        const bool on_rim =
            i + di < 0 || j + dj < 0 || i + di >= raster.nx || j + dj >= raster.ny;
        if (on_rim || body.cells[raster.at(i + di, j + dj)] != 0) {
          continue;
        }
        const Point edge{raster.x_of(i + 0.5 + 0.5 * di),
                         raster.y_of(j + 0.5 + 0.5 * dj)};
        const double distance = std::hypot(edge.x - from.x, edge.y - from.y);
        if (distance < least) {
          least = distance;
          nearest = edge;
        }
      }
    }
  }
  return nearest;
}

[[nodiscard]] bool in_body(const Raster& raster, const Body& body, Point p)
{
  const auto i = static_cast<int>(std::floor((p.x - raster.corner.x) / raster.cell));
  const auto j = static_cast<int>(std::floor((p.y - raster.corner.y) / raster.cell));
  return i >= 0 && j >= 0 && i < raster.nx && j < raster.ny &&
         body.cells[raster.at(i, j)] != 0;
}

}  // namespace

std::vector<PathPiece> cut_line(const PaintStack& paint, Point from, Point to,
                                double step)
{
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  if (!(step > 0.0) || !(length > 0.0)) {
    throw std::invalid_argument("a line to be cut needs a length and a step above 0");
  }
  const auto count = static_cast<int>(std::ceil(length / step));
  std::vector<PathPiece> pieces;
  double start = 0.0;
  std::uint16_t tissue = paint.tissue_at(from);
  for (int n = 1; n <= count; ++n) {
    const std::uint16_t next =
        paint.tissue_at(between(from, to, static_cast<double>(n) / count));
    if (next == tissue) {
      continue;
    }
    const double change =
        change_at(paint, from, to, (n - 1.0) / count, static_cast<double>(n) / count);
    pieces.push_back({tissue, (change - start) * length});
    start = change;
    tissue = next;
  }
  if (start < 1.0) {
    pieces.push_back({tissue, (1.0 - start) * length});
  }
  return pieces;
}

std::vector<PathPiece> without_outside(std::vector<PathPiece> pieces)
{
  const auto tissue = [](const PathPiece& piece) { return piece.tissue != background; };
  const auto last = std::find_if(pieces.rbegin(), pieces.rend(), tissue);
  pieces.erase(last.base(), pieces.end());
  pieces.erase(pieces.begin(), std::find_if(pieces.begin(), pieces.end(), tissue));
  return pieces;
}

std::optional<std::vector<PathPiece>> shortest_way_out(const PaintStack& paint,
                                                       const Raster& raster,
                                                       const Body& body, Point from)
{
  const std::optional<Point> edge = nearest_edge(raster, body, from);
  if (!edge || !in_body(raster, body, from)) {
    return std::nullopt;
  }
  // The edge lies within a cell outside the outline, which may cross the line up to two
  // cells beyond where the line is oblique to the cells.
  const double distance = std::hypot(edge->x - from.x, edge->y - from.y);
  const double beyond = 1.0 + 2.0 * raster.cell / distance;
  std::vector<PathPiece> pieces =
      cut_line(paint, from, between(from, *edge, beyond), raster.cell / 8.0);
  while (!pieces.empty() && pieces.back().tissue == background) {
    pieces.pop_back();
  }
  return pieces;
}

Point nearest_of_body(const Raster& raster, const Body& body, Point from)
{
  Point nearest;
  double least = std::numeric_limits<double>::infinity();
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const Point centre{raster.x(i), raster.y(j)};
      const double distance = std::hypot(centre.x - from.x, centre.y - from.y);
      if (body.cells[raster.at(i, j)] != 0 && distance < least) {
        least = distance;
        nearest = centre;
      }
    }
  }
  return nearest;
}

}  // namespace torsowave::geometry
