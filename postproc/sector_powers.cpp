#include "postproc/sector_powers.hpp"

#include <array>
#include <cmath>

namespace torsowave::postproc {
namespace {

/// One component of S between the edges where it is known.
/// \param along_x  which
/// \param x,y  counted in cells from the raster's corner
[[nodiscard]] double flow_between(const EdgeFlow& flow, bool along_x, double x, double y)
{
  // The edge left of cell (i, j) has its middle at (i, j + 1/2).
  const double u = along_x ? x : x - 0.5;
  const double v = along_x ? y - 0.5 : y;
  const auto i = static_cast<int>(std::floor(u));
  const auto j = static_cast<int>(std::floor(v));
  const double right = u - i;
  const double up = v - j;
  return (1.0 - up) *
             ((1.0 - right) * flow(along_x, i, j) + right * flow(along_x, i + 1, j)) +
         up * ((1.0 - right) * flow(along_x, i, j + 1) +
               right * flow(along_x, i + 1, j + 1));
}

/// Power across the ray from the sector before it to that behind, between skin and
/// contour [W/m].
[[nodiscard]] double power_across(const geometry::Raster& raster,
                                  const geometry::SectorEnd& end, const EdgeFlow& flow)
{
  std::array<double, 3> across{};
  for (std::size_t n = 0; n < across.size(); ++n) {
    const double d = end.first_sample + static_cast<double>(n) * end.sample_step;
    const double x = (end.skin.x + d * end.away.x - raster.corner.x) / raster.cell;
    const double y = (end.skin.y + d * end.away.y - raster.corner.y) / raster.cell;
    across[n] = end.away.x * flow_between(flow, false, x, y) -
                end.away.y * flow_between(flow, true, x, y);
  }
  if (end.sample_step == 0.0) {
    return end.gap * across[0];
  }
  // Newton's parabola in t = (distance - first sample)/step, integrated over the gap.
  const double slope = across[1] - across[0];
  const double bend = across[2] - 2.0 * across[1] + across[0];
  const auto integral = [&](double t) {
    return t * (across[0] + t * (0.5 * slope + bend * (t / 6.0 - 0.25)));
  };
  return end.sample_step * (integral((end.gap - end.first_sample) / end.sample_step) -
                            integral(-end.first_sample / end.sample_step));
}

}  // namespace

std::vector<double> sector_powers(const geometry::Raster& raster,
                                  const geometry::Sectors& sectors,
                                  const std::vector<double>& edge_power,
                                  const EdgeFlow& flow)
{
  std::vector<double> powers(static_cast<std::size_t>(sectors.count), 0.0);
  for (std::size_t e = 0; e < edge_power.size(); ++e) {
    powers[static_cast<std::size_t>(sectors.of_edge[e])] += edge_power[e];
  }
  for (const geometry::SectorEnd& end : sectors.ends) {
    const double crossing = end.gap > 0.0 ? power_across(raster, end, flow) : 0.0;
    const double moved = end.behind * edge_power[end.edge] - crossing;
    powers[static_cast<std::size_t>(end.from)] -= moved;
    powers[static_cast<std::size_t>(end.to)] += moved;
  }
  return powers;
}

}  // namespace torsowave::postproc
