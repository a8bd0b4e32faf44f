#include "postproc/power_balance.hpp"

#include <cmath>
#include <numbers>

#include "materials/constants.hpp"

namespace torsowave::postproc {
namespace {

using Complex = std::complex<double>;
using materials::vacuum_permeability;
using materials::vacuum_permittivity;

/// What the sums must be divided by to be per ampere.
[[nodiscard]] Complex amplitude(const PowerInputs& inputs, std::size_t f)
{
  return inputs.source.sum(f) * inputs.source_gain.at(f);
}

/// Omega eps0 (-Im eps_d) [S/m] of each tissue of the map: the conductivity that heats
/// it.
[[nodiscard]] std::vector<double> heating_conductivity(const PowerInputs& inputs,
                                                       std::size_t f)
{
  const double frequency = inputs.phasors.frequencies()[f];
  const double dt = inputs.grid.time_step;
  std::vector<double> result;
  for (const materials::FittedMedium& medium : inputs.media.media) {
    if (medium.conductor) {
      result.push_back(0.0);
      continue;
    }
    const solver::MediumEntry entry{false, medium.eps_inf, medium.conductivity,
                                    medium.strengths};
    const Complex eps = solver::discrete_permittivity(
        entry, inputs.media.relaxation_times, frequency, dt);
    result.push_back(solver::discrete_omega(frequency, dt) * vacuum_permittivity *
                     -eps.imag());
  }
  return result;
}

/// Fraction of the cell that each share fills, as solver::build_medium() mixes:
/// conductors out.
[[nodiscard]] std::vector<double> share_fractions(const PowerInputs& inputs,
                                                  const geometry::Mixture& mixture)
{
  double whole = geometry::fraction_quantum;
  for (const geometry::Share& share : mixture) {
    whole -= inputs.media.media[share.tissue].conductor ? share.quanta : 0;
  }
  std::vector<double> fractions;
  for (const geometry::Share& share : mixture) {
    const bool conductor = inputs.media.media[share.tissue].conductor;
    fractions.push_back(conductor || whole <= 0.0 ? 0.0 : share.quanta / whole);
  }
  return fractions;
}

[[nodiscard]] std::vector<double> absorbed_by_tissue(const PowerInputs& inputs,
                                                     std::size_t f)
{
  const geometry::TissueMap& map = inputs.map;
  const geometry::Raster& raster = map.raster;
  const std::vector<std::uint8_t>& inside = inputs.radiation.contour().inside;
  // |E|^2 by palette entry first: rows are summed in order, whatever the thread count.
  std::vector<double> squares(map.palette.size(), 0.0);
  for (int j = 0; j < raster.ny; ++j) {
    const auto row = inputs.phasors.row(f, j);
    for (int i = 0; i < raster.nx; ++i) {
      if (inside[raster.at(i, j)] != 0) {
        squares[map.cells[raster.at(i, j)]] +=
            std::norm(row[static_cast<std::size_t>(i)]);
      }
    }
  }
  const std::vector<double> sigma = heating_conductivity(inputs, f);
  std::vector<double> power(map.tissues.size(), 0.0);
  for (std::size_t p = 0; p < map.palette.size(); ++p) {
    const std::vector<double> fractions = share_fractions(inputs, map.palette[p]);
    for (std::size_t s = 0; s < fractions.size(); ++s) {
      const std::uint16_t tissue = map.palette[p][s].tissue;
      power[tissue] +=
          0.5 * sigma[tissue] * fractions[s] * squares[p] * raster.cell * raster.cell;
    }
  }
  return power;
}

[[nodiscard]] double total(const std::vector<double>& values)
{
  double sum = 0.0;
  for (const double value : values) {
    sum += value;
  }
  return sum;
}

/// Sums edge powers by the angle of the edge's midpoint about the centre.
[[nodiscard]] std::vector<double> by_sector(const PowerInputs& inputs,
                                            const std::vector<double>& edge_power)
{
  std::vector<double> sectors(static_cast<std::size_t>(inputs.sectors), 0.0);
  const std::vector<geometry::ContourEdge>& edges = inputs.surface->contour().edges;
  for (std::size_t p = 0; p < edges.size(); ++p) {
    const double turn = geometry::edge_angle(inputs.map.raster, edges[p], inputs.centre) /
                        (2.0 * std::numbers::pi);
    // Sector 0 is centred on angle 0.
    const auto sector =
        static_cast<std::size_t>(std::lround(turn * inputs.sectors)) % sectors.size();
    sectors[sector] += edge_power[p];
  }
  return sectors;
}

[[nodiscard]] double decibels(double relative_change)
{
  return 10.0 * std::log10(1.0 + std::abs(relative_change));
}

}  // namespace

FrequencyResult power_balance(const PowerInputs& inputs, std::size_t f)
{
  const double scale = 1.0 / std::norm(amplitude(inputs, f));
  FrequencyResult result;
  result.frequency = inputs.phasors.frequencies()[f];
  const Complex at_source =
      inputs.phasors.row(f, inputs.source_j)[static_cast<std::size_t>(inputs.source_i)];
  result.source_power =
      -0.5 * (at_source * std::conj(inputs.source.sum(f))).real() * scale;
  const std::vector<double> absorbed = absorbed_by_tissue(inputs, f);
  for (std::size_t t = 0; t < absorbed.size(); ++t) {
    if (absorbed[t] > 0.0) {
      result.absorbed_by_tissue[inputs.map.tissues[t]] = absorbed[t] * scale;
    }
  }
  result.absorbed_power = total(absorbed) * scale;
  result.radiated_power = total(inputs.radiation.edge_power(f)) * scale;
  result.power_balance_residual =
      std::abs(result.source_power - result.absorbed_power - result.radiated_power) /
      std::abs(result.source_power);
  result.uncertainty_db["power_balance"] = decibels(result.power_balance_residual);
  if (inputs.surface != nullptr) {
    std::vector<double> edge_power = inputs.surface->edge_power(f);
    for (double& power : edge_power) {
      power *= scale;
    }
    result.body_surface_power = total(edge_power);
    result.sector_power = by_sector(inputs, edge_power);
  }
  return result;
}

std::vector<double> sector_centres_deg(int count)
{
  std::vector<double> centres;
  centres.reserve(static_cast<std::size_t>(count));
  for (int s = 0; s < count; ++s) {
    centres.push_back(360.0 * s / count);
  }
  return centres;
}

std::vector<float> absorption_rate(const PowerInputs& inputs, std::size_t f,
                                   double source_power,
                                   const std::vector<double>& densities)
{
  const geometry::Raster& raster = inputs.map.raster;
  const std::vector<double> sigma = heating_conductivity(inputs, f);
  std::vector<double> factor;  // by palette entry: mean sigma over mean density
  for (const geometry::Mixture& mixture : inputs.map.palette) {
    const std::vector<double> fractions = share_fractions(inputs, mixture);
    double conductivity = 0.0;
    double density = 0.0;
    for (std::size_t s = 0; s < fractions.size(); ++s) {
      const std::uint16_t tissue = mixture[s].tissue;
      if (densities.at(tissue) > 0.0) {
        conductivity += fractions[s] * sigma[tissue];
        density += fractions[s] * densities[tissue];
      }
    }
    factor.push_back(density > 0.0 ? conductivity / density : 0.0);
  }
  const double scale = 0.5 / (std::norm(amplitude(inputs, f)) * source_power);
  std::vector<float> rate(raster.size());
  for (int j = 0; j < raster.ny; ++j) {
    const auto row = inputs.phasors.row(f, j);
    for (int i = 0; i < raster.nx; ++i) {
      const std::size_t p = raster.at(i, j);
      rate[p] = static_cast<float>(scale * factor[inputs.map.cells[p]] *
                                   std::norm(row[static_cast<std::size_t>(i)]));
    }
  }
  return rate;
}

void append_phasor(const PowerInputs& inputs, std::size_t f,
                   std::vector<std::complex<float>>& values)
{
  const Complex unit = 1.0 / amplitude(inputs, f);
  for (int j = 0; j < inputs.map.raster.ny; ++j) {
    for (const Complex sum : inputs.phasors.row(f, j)) {
      values.emplace_back(sum * unit);
    }
  }
}

void append_magnetic_phasor(const PowerInputs& inputs, std::size_t f, bool along_x,
                            std::vector<std::complex<float>>& values)
{
  // j Omega mu0 Hx = -dEz/dy, j Omega mu0 Hy = dEz/dx; the mean of both edges of a cell
  // is the central difference over two cells. Ez = 0 beyond the rim.
  const geometry::Raster& raster = inputs.map.raster;
  const double omega =
      solver::discrete_omega(inputs.phasors.frequencies()[f], inputs.grid.time_step);
  const Complex unit =
      Complex(0.0, along_x ? 1.0 : -1.0) /
      (omega * vacuum_permeability * 2.0 * raster.cell * amplitude(inputs, f));
  const auto at = [&](int i, int j) {
    const bool outside = i < 0 || j < 0 || i >= raster.nx || j >= raster.ny;
    return outside ? Complex() : inputs.phasors.row(f, j)[static_cast<std::size_t>(i)];
  };
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      const Complex slope =
          along_x ? at(i, j + 1) - at(i, j - 1) : at(i + 1, j) - at(i - 1, j);
      values.emplace_back(slope * unit);
    }
  }
}

}  // namespace torsowave::postproc
