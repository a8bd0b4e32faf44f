#include "geometry/skin_finder.hpp"

#include <cmath>

namespace torsowave::geometry {
namespace {

constexpr int window = 4;           ///< cells to each side that tell where the body is
constexpr int longest_column = 12;  ///< cells from air to where the body fills all
constexpr double farthest = 8.0;    ///< [cells]

}  // namespace

SkinFinder::SkinFinder(const TissueMap& map, const Body& body) : map_(map), body_(body) {}

double SkinFinder::share(int i, int j) const
{
  const Raster& raster = map_.raster;
  return i < 0 || j < 0 || i >= raster.nx || j >= raster.ny
             ? 0.0
             : static_cast<double>(body_quanta(map_, body_.cells, i, j)) /
                   fraction_quantum;
}

SkinFinder::Columns SkinFinder::columns_at(int i, int j) const
{
  double along_x = 0.0;
  double along_y = 0.0;
  for (int dj = -window; dj <= window; ++dj) {
    for (int di = -window; di <= window; ++di) {
      const double part = share(i + di, j + dj);
      along_x += part * di;
      along_y += part * dj;
    }
  }
  const bool is_y = std::abs(along_y) >= std::abs(along_x);
  return {is_y, (is_y ? along_y : along_x) > 0.0 ? -1 : 1, is_y ? j : i};
}

double SkinFinder::share_in(const Columns& columns, int column, int row) const
{
  return columns.along_y ? share(column, row) : share(row, column);
}

std::optional<double> SkinFinder::end_of(const Columns& columns, int column) const
{
  int row = columns.row;
  for (int n = 0; share_in(columns, column, row) > 0.0; ++n, row += columns.outward) {
    if (n == longest_column) {
      return std::nullopt;
    }
  }
  double sum = 0.0;
  for (int n = 0; n < longest_column; ++n, row -= columns.outward) {
    const double part = share_in(columns, column, row);
    if (part == 1.0) {
      return row + (columns.outward > 0 ? 1.0 : 0.0) + columns.outward * sum;
    }
    sum += part;
  }
  return std::nullopt;
}

std::optional<double> SkinFinder::height(const Columns& columns, double column,
                                         double row) const
{
  const double left = std::floor(column - 0.5);
  const auto here = end_of(columns, static_cast<int>(left));
  const auto next = end_of(columns, static_cast<int>(left) + 1);
  if (!here || !next) {
    return std::nullopt;
  }
  const double part = column - 0.5 - left;
  return columns.outward * (row - (1.0 - part) * *here - part * *next);
}

std::optional<double> SkinFinder::distance(Point from, Point towards) const
{
  const Raster& raster = map_.raster;
  const double x = (from.x - raster.corner.x) / raster.cell;
  const double y = (from.y - raster.corner.y) / raster.cell;
  const Columns columns =
      columns_at(static_cast<int>(std::floor(x)), static_cast<int>(std::floor(y)));
  const auto outside = [&](double way) {
    const double at_x = x + way * towards.x;
    const double at_y = y + way * towards.y;
    return columns.along_y ? height(columns, at_x, at_y) : height(columns, at_y, at_x);
  };
  constexpr double step = 0.5;
  double high = 0.0;
  auto here = outside(high);
  while (here && *here > 0.0 && high < farthest) {
    high += step;
    here = outside(high);
  }
  if (!here || *here > 0.0 || high == 0.0) {
    return std::nullopt;
  }
  double low = high - step;
  constexpr int halvings = 40;
  for (int n = 0; n < halvings; ++n) {
    const double middle = 0.5 * (low + high);
    here = outside(middle);
    if (!here) {
      return std::nullopt;
    }
    (*here > 0.0 ? low : high) = middle;
  }
  return 0.5 * (low + high) * raster.cell;
}

}  // namespace torsowave::geometry
