#include "postproc/sar_squares.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace torsowave::postproc {
namespace {

using Region = std::optional<SarSlice::Beyond>;

/// A cell that is less than this a tissue with a density is no place of a maximum: E
/// beside an interface is that of the other side.
constexpr float whole = 0.999F;

/// The cell with the largest value; none if no value is above 0.
/// \param sides  of the squares, which the spot is told; may be null
/// \param value  of cell (p, i, j); 0 where it does not count
template <class Value>
[[nodiscard]] std::optional<SarSpot> largest(const geometry::TissueMap& map,
                                             const Region& beyond,
                                             const std::vector<float>* sides, Value value)
{
  const geometry::Raster& raster = map.raster;
  std::optional<SarSpot> spot;
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const std::size_t p = raster.at(i, j);
      const geometry::Point at{raster.x(i), raster.y(j)};
      if (beyond &&
          std::hypot(at.x - beyond->from.x, at.y - beyond->from.y) < beyond->distance) {
        continue;
      }
      const double here = value(p, i, j);
      if (here > (spot ? spot->value : 0.0)) {
        spot = SarSpot{here, at, map.tissues[map.labels[p]],
                       sides != nullptr ? static_cast<double>((*sides)[p]) : 0.0};
      }
    }
  }
  return spot;
}

}  // namespace

AreaSums::AreaSums(const geometry::Raster& raster,
                   const std::function<double(std::size_t)>& value)
    : nx_(raster.nx),
      ny_(raster.ny),
      sums_((static_cast<std::size_t>(nx_) + 1) * (static_cast<std::size_t>(ny_) + 1))
{
  const auto width = static_cast<std::size_t>(nx_) + 1;
  for (int j = 0; j < ny_; ++j) {
    double row = 0.0;
    for (int i = 0; i < nx_; ++i) {
      row += value(raster.at(i, j));
      const std::size_t above =
          (static_cast<std::size_t>(j) + 1) * width + static_cast<std::size_t>(i) + 1;
      sums_[above] = sums_[above - width] + row;
    }
  }
}

// The integral below and left of a point is bilinear within a cell.
double AreaSums::below(double x, double y) const
{
  const double column = std::clamp(x, 0.0, static_cast<double>(nx_));
  const double row = std::clamp(y, 0.0, static_cast<double>(ny_));
  const int i = std::min(static_cast<int>(column), nx_ - 1);
  const int j = std::min(static_cast<int>(row), ny_ - 1);
  const double u = column - i;
  const double v = row - j;
  const auto width = static_cast<std::size_t>(nx_) + 1;
  const double* const at =
      &sums_[static_cast<std::size_t>(j) * width + static_cast<std::size_t>(i)];
  return (1.0 - v) * ((1.0 - u) * at[0] + u * at[1]) +
         v * ((1.0 - u) * at[width] + u * at[width + 1]);
}

double AreaSums::over_square(double x, double y, double half) const
{
  return below(x + half, y + half) - below(x - half, y + half) -
         below(x + half, y - half) + below(x - half, y - half);
}

// L^3 rho(L) = m with the square's mean density rho(L) is solved by L <-
// (m/rho(L))^(1/3): where a square may count, rho changes by a tenth at most as tissue
// gives way to nothing, and the error falls at least by a factor of about three with each
// turn.
std::vector<float> section_sides(const geometry::Raster& raster, const TissueCover& cover,
                                 double mass)
{
  constexpr int most_turns = 30;
  constexpr double tolerance = 1e-6;
  const AreaSums masses(
      raster, [&](std::size_t p) { return static_cast<double>(cover.mass[p]); });
  const AreaSums shares(
      raster, [&](std::size_t p) { return static_cast<double>(cover.share[p]); });
  std::vector<float> sides(raster.size(), 0.0F);
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const std::size_t p = raster.at(i, j);
      if (cover.mass[p] <= 0.0F) {
        continue;
      }
      const auto density = static_cast<double>(cover.mass[p] / cover.share[p]);
      double side = std::cbrt(mass / density) / raster.cell;
      double change = 1.0;
      for (int turn = 0; turn < most_turns && change > tolerance; ++turn) {
        const double mean =
            masses.over_square(i + 0.5, j + 0.5, 0.5 * side) / (side * side);
        const double next = std::cbrt(mass / mean) / raster.cell;
        change = std::abs(next / side - 1.0);
        side = next;
      }
      const double tissue = shares.over_square(i + 0.5, j + 0.5, 0.5 * side);
      if (change <= tolerance && tissue >= (1.0 - most_foreign_share) * side * side) {
        sides[p] = static_cast<float>(side * raster.cell);
      }
    }
  }
  return sides;
}

SarSlice::SarSlice(const geometry::TissueMap& map, TissueCover cover)
    : map_(map),
      cover_(std::move(cover)),
      mass_(map.raster,
            [this](std::size_t p) { return static_cast<double>(cover_.mass[p]); }),
      one_gram_(section_sides(map.raster, cover_, one_gram)),
      ten_gram_(section_sides(map.raster, cover_, ten_gram))
{
}

SarPeaks SarSlice::peaks(const std::vector<float>& rate, const Region& beyond) const
{
  const geometry::Raster& raster = map_.raster;
  const AreaSums heat(raster, [&](std::size_t p) {
    return static_cast<double>(rate[p] * cover_.mass[p]);
  });
  const auto over = [&](const std::vector<float>& sides) {
    return largest(map_, beyond, &sides, [&](std::size_t p, int i, int j) {
      const double half = 0.5 * static_cast<double>(sides[p]) / raster.cell;
      return half > 0.0 ? heat.over_square(i + 0.5, j + 0.5, half) /
                              mass_.over_square(i + 0.5, j + 0.5, half)
                        : 0.0;
    });
  };
  return {largest(map_, beyond, nullptr,
                  [&](std::size_t p, int, int) {
                    return cover_.share[p] > whole ? static_cast<double>(rate[p]) : 0.0;
                  }),
          over(one_gram_), over(ten_gram_)};
}

}  // namespace torsowave::postproc
