#include "solver/medium.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using geometry::fraction_quantum;

[[nodiscard]] MediumEntry mix(const geometry::Mixture& mixture,
                              const materials::DebyePalette& media)
{
  MediumEntry entry;
  entry.eps_inf = 0.0;
  entry.strengths.assign(media.relaxation_times.size(), 0.0);
  int conductor_quanta = 0;
  for (const geometry::Share& share : mixture) {
    if (media.media.at(share.tissue).conductor) {
      conductor_quanta += share.quanta;
    }
  }
  if (2 * conductor_quanta >= fraction_quantum) {
    entry.conductor = true;
    entry.eps_inf = 1.0;
    return entry;
  }
  const double whole = fraction_quantum - conductor_quanta;
  for (const geometry::Share& share : mixture) {
    const materials::FittedMedium& medium = media.media.at(share.tissue);
    if (medium.conductor) {
      continue;
    }
    const double fraction = share.quanta / whole;
    entry.eps_inf += fraction * medium.eps_inf;
    entry.conductivity += fraction * medium.conductivity;
    for (std::size_t k = 0; k < entry.strengths.size(); ++k) {
      entry.strengths[k] += fraction * medium.strengths[k];
    }
  }
  return entry;
}

}  // namespace

bool MediumEntry::has_poles() const noexcept
{
  return !conductor && std::any_of(strengths.begin(), strengths.end(),
                                   [](double s) { return s > 0.0; });
}

Medium build_medium(const geometry::TissueMap& map, const materials::DebyePalette& media,
                    int absorbing_cells)
{
  if (media.media.size() != map.tissues.size()) {
    throw std::invalid_argument("one fitted medium is needed for each tissue of the map");
  }
  Medium medium;
  medium.relaxation_times = media.relaxation_times;
  for (const geometry::Mixture& mixture : map.palette) {
    medium.palette.push_back(mix(mixture, media));
  }
  const geometry::Raster& raster = map.raster;
  medium.cells.resize(raster.size());
  for (int j = 0; j < raster.ny; ++j) {
    // One row, mode 1D, has no absorber along y.
    const int from_j =
        raster.ny == 1 ? 0
                       : std::clamp(j, absorbing_cells, raster.ny - 1 - absorbing_cells);
    for (int i = 0; i < raster.nx; ++i) {
      const int from_i = std::clamp(i, absorbing_cells, raster.nx - 1 - absorbing_cells);
      medium.cells[raster.at(i, j)] = map.cells[raster.at(from_i, from_j)];
    }
  }
  return medium;
}

double discrete_omega(double frequency, double dt)
{
  return 2.0 / dt * std::sin(0.5 * materials::two_pi * frequency * dt);
}

std::complex<double> discrete_permittivity(const MediumEntry& entry,
                                           std::span<const double> times,
                                           double frequency, double dt)
{
  using namespace std::complex_literals;
  const double warped = 2.0 / dt * std::tan(0.5 * materials::two_pi * frequency * dt);
  std::complex<double> eps =
      entry.eps_inf + entry.conductivity / (1i * warped * materials::vacuum_permittivity);
  for (std::size_t k = 0; k < times.size(); ++k) {
    eps += entry.strengths[k] / (1.0 + 1i * warped * times[k]);
  }
  return eps;
}

}  // namespace torsowave::solver
