#include "geometry/skin_finder.hpp"

#include <cmath>

namespace torsowave::geometry {
namespace {

constexpr int window = 4;           ///< cells to each side that tell where the body is
constexpr int longest_column = 12;  ///< cells from air to where the body fills all
constexpr double farthest = 8.0;    ///< [cells]

/// First place on the way where `outside` is no longer positive, empty beyond
/// `farthest` or if it never is positive.
template <class Outside>
[[nodiscard]] std::optional<double> first_zero(const Outside& outside)
{
  constexpr double step = 0.5;
  double high = 0.0;
  while (outside(high) > 0.0) {
    high += step;
    if (high > farthest) {
      return std::nullopt;
    }
  }
  if (high == 0.0) {
    return std::nullopt;
  }
  double low = high - step;
  constexpr int halvings = 40;
  for (int n = 0; n < halvings; ++n) {
    const double middle = 0.5 * (low + high);
    (outside(middle) > 0.0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

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

std::optional<double> SkinFinder::end_of(const Columns& columns, int column) const
{
  const auto filled = [&](int row) {
    return columns.along_y ? share(column, row) : share(row, column);
  };
  int row = columns.row;
  for (int n = 0; filled(row) > 0.0; ++n, row += columns.outward) {
    if (n == longest_column) {
      return std::nullopt;
    }
  }
  double sum = 0.0;
  for (int n = 0; n < longest_column; ++n, row -= columns.outward) {
    const double part = filled(row);
    if (part == 1.0) {
      return row + (columns.outward > 0 ? 1.0 : 0.0) + columns.outward * sum;
    }
    sum += part;
  }
  return std::nullopt;
}

std::optional<SkinFinder::Parabola> SkinFinder::skin_about(const Columns& columns,
                                                           int column, int half) const
{
  double h = 0.0;  // sums of heights, times u and u^2, and of u^2 and u^4
  double uh = 0.0;
  double uuh = 0.0;
  double u2 = 0.0;
  double u4 = 0.0;
  for (int u = -half; u <= half; ++u) {
    const auto height = end_of(columns, column + u);
    if (!height) {
      return std::nullopt;
    }
    const double uu = static_cast<double>(u) * u;
    h += *height;
    uh += u * *height;
    uuh += uu * *height;
    u2 += uu;
    u4 += uu * uu;
  }
  const double count = 2.0 * half + 1.0;
  const double bend = (count * uuh - u2 * h) / (count * u4 - u2 * u2);
  return Parabola{column + 0.5, (h - bend * u2) / count - bend / 12.0, uh / u2, bend};
}

std::optional<double> SkinFinder::way_to_skin(const Columns& columns, Point from,
                                              Point towards, int half) const
{
  constexpr int most_turns = 5;
  auto column = static_cast<int>(std::floor(from.x));
  std::optional<double> way;
  for (int n = 0; n < most_turns; ++n) {
    const auto skin = skin_about(columns, column, half);
    if (!skin) {
      return std::nullopt;
    }
    way = first_zero([&](double at) {
      const double u = from.x + at * towards.x - skin->middle;
      return columns.outward * (from.y + at * towards.y - skin->height -
                                u * (skin->slope + u * skin->bend));
    });
    if (!way) {
      return std::nullopt;
    }
    const auto met = static_cast<int>(std::floor(from.x + *way * towards.x));
    if (met == column) {
      break;
    }
    column = met;
  }
  return way;
}

std::optional<double> SkinFinder::distance(Point from, Point towards) const
{
  const Raster& raster = map_.raster;
  Point start{(from.x - raster.corner.x) / raster.cell,
              (from.y - raster.corner.y) / raster.cell};
  const Columns columns = columns_at(static_cast<int>(std::floor(start.x)),
                                     static_cast<int>(std::floor(start.y)));
  if (!columns.along_y) {
    start = {start.y, start.x};
    towards = {towards.y, towards.x};
  }
  for (const int half : {2, 1}) {
    if (const auto way = way_to_skin(columns, start, towards, half)) {
      return *way * raster.cell;
    }
  }
  return std::nullopt;
}

}  // namespace torsowave::geometry
