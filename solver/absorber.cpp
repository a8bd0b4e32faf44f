#include "solver/absorber.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using materials::vacuum_impedance;
using materials::vacuum_permittivity;

struct Sample {
  double b = 0.0;
  double c = 0.0;
  double inverse_kappa = 1.0;
};

/// Coefficients at `depth` into the layer: 0 at its inner face, 1 at the wall.
[[nodiscard]] Sample sample_at(const AbsorberSpec& spec, double depth, double cell,
                               double dt, double eps_r)
{
  if (depth <= 0.0) {
    return {};
  }
  const double sigma_max = spec.sigma_factor * 0.8 * (spec.order + 1.0) /
                           (vacuum_impedance * cell * std::sqrt(eps_r));
  const double grade = std::pow(depth, spec.order);
  const double sigma = sigma_max * grade;
  const double kappa = 1.0 + (spec.kappa_max - 1.0) * grade;
  const double alpha = spec.alpha_max * (1.0 - depth);
  const double b = std::exp(-(sigma / kappa + alpha) * dt / vacuum_permittivity);
  const double c = sigma * (b - 1.0) / (kappa * (sigma + kappa * alpha));
  return {b, c, 1.0 / kappa};
}

/// Fills positions p = 0 .. count-1 that lie (first + p) cells from the low end.
[[nodiscard]] AbsorberProfile::Line line(const AbsorberSpec& spec, int count,
                                         double first, int n, double cell, double dt,
                                         double eps_low, double eps_high)
{
  AbsorberProfile::Line result;
  for (int p = 0; p < count; ++p) {
    const double from_low = first + p;
    const double low_depth = (spec.cells - from_low) / spec.cells;
    const double high_depth = (spec.cells - (n - from_low)) / spec.cells;
    const Sample at = low_depth > 0.0 ? sample_at(spec, low_depth, cell, dt, eps_low)
                                      : sample_at(spec, high_depth, cell, dt, eps_high);
    result.b.push_back(at.b);
    result.c.push_back(at.c);
    result.inverse_kappa.push_back(at.inverse_kappa);
  }
  return result;
}

[[nodiscard]] double static_permittivity(const MediumEntry& entry)
{
  double eps = entry.eps_inf;
  for (const double strength : entry.strengths) {
    eps += strength;
  }
  return eps;
}

/// Permittivity of the fastest medium in one line of cells.
template <class CellAt>
[[nodiscard]] double least_permittivity(const Medium& medium, int count, CellAt&& cell_at)
{
  double least = std::numeric_limits<double>::infinity();
  for (int p = 0; p < count; ++p) {
    const MediumEntry& entry = medium.palette[medium.cells[cell_at(p)]];
    if (!entry.conductor) {
      least = std::min(least, static_permittivity(entry));
    }
  }
  return std::isfinite(least) ? least : 1.0;
}

}  // namespace

AbsorberProfile absorber_along_x(const AbsorberSpec& spec, const Grid& grid,
                                 const Medium& medium)
{
  const geometry::Raster& raster = grid.raster;
  const auto column = [&](int i) {
    return least_permittivity(medium, raster.ny, [&](int j) { return raster.at(i, j); });
  };
  return absorber_profile(spec, raster.nx, raster.cell, grid.time_step, column(0),
                          column(raster.nx - 1));
}

AbsorberProfile absorber_along_y(const AbsorberSpec& spec, const Grid& grid,
                                 const Medium& medium)
{
  const geometry::Raster& raster = grid.raster;
  const auto row = [&](int j) {
    return least_permittivity(medium, raster.nx, [&](int i) { return raster.at(i, j); });
  };
  return absorber_profile(spec, raster.ny, raster.cell, grid.time_step, row(0),
                          row(raster.ny - 1));
}

AbsorberProfile absorber_profile(const AbsorberSpec& spec, int n, double cell, double dt,
                                 double eps_low, double eps_high)
{
  return {line(spec, n, 0.5, n, cell, dt, eps_low, eps_high),
          line(spec, n + 1, 0.0, n, cell, dt, eps_low, eps_high)};
}

}  // namespace torsowave::solver
