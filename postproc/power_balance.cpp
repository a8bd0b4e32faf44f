#include "postproc/power_balance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "materials/constants.hpp"
#include "postproc/far_field.hpp"
#include "postproc/sector_powers.hpp"

namespace torsowave::postproc {
namespace {

using Complex = std::complex<double>;
using materials::vacuum_permeability;
using materials::vacuum_permittivity;

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

[[nodiscard]] std::vector<double> absorbed_in_cells(
    const PowerInputs& inputs, std::size_t f, const std::vector<std::uint8_t>& inside)
{
  const geometry::TissueMap& map = inputs.map;
  const geometry::Raster& raster = map.raster;
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

/// The cells that powers are counted in.
[[nodiscard]] const std::vector<std::uint8_t>& counted_cells(const PowerInputs& inputs)
{
  return (inputs.inflow != nullptr ? *inputs.inflow : inputs.radiation).contour().inside;
}

/// By palette entry: mass per volume, and share, of tissues with a density.
[[nodiscard]] TissueCover cover_of_entries(const PowerInputs& inputs,
                                           const std::vector<double>& densities)
{
  TissueCover entries;
  for (const geometry::Mixture& mixture : inputs.map.palette) {
    const std::vector<double> fractions = share_fractions(inputs, mixture);
    double mass = 0.0;
    double share = 0.0;
    for (std::size_t s = 0; s < fractions.size(); ++s) {
      mass += fractions[s] * densities.at(mixture[s].tissue);
      share += densities[mixture[s].tissue] > 0.0 ? fractions[s] : 0.0;
    }
    entries.mass.push_back(static_cast<float>(mass));
    entries.share.push_back(static_cast<float>(share));
  }
  return entries;
}

[[nodiscard]] double total(const std::vector<double>& values)
{
  double sum = 0.0;
  for (const double value : values) {
    sum += value;
  }
  return sum;
}

/// NaN where the bare source sends nothing.
[[nodiscard]] double over_bare_db(double intensity, double bare)
{
  return bare > 0.0 ? 10.0 * std::log10(intensity / bare)
                    : std::numeric_limits<double>::quiet_NaN();
}

[[nodiscard]] double decibels(double relative_change)
{
  return 10.0 * std::log10(1.0 + std::abs(relative_change));
}

}  // namespace

FieldsAt::FieldsAt(const PowerInputs& inputs, std::size_t f)
    : inputs_(inputs),
      f_(f),
      unit_(1.0 / (inputs.source_sum.at(f) * inputs.source_gain.at(f))),
      scale_(std::norm(unit_))
{
  if (inputs.grid.raster.ny == 1) {
    scale_ /= inputs.grid.raster.cell;  // per area
  }
  if (inputs.tez != nullptr) {
    std::vector<solver::EdgeCurrent> currents;
    if (inputs.source && inputs.source->kind == solver::RadiatorKind::dipole) {
      const SourcePlace& place = *inputs.source;
      currents = solver::dipole_currents(place.i, place.j, place.direction,
                                         inputs.source_sum[f]);
    }
    edges_.emplace(*inputs.tez, inputs.grid, inputs.phasors, f, currents);
  }
}

Complex FieldsAt::centre(int i, int j) const
{
  return inputs_.phasors.row(f_, j)[static_cast<std::size_t>(i)] * unit_;
}

double FieldsAt::delivered() const
{
  const SourcePlace& place = *inputs_.source;
  const Complex sum = inputs_.source_sum[f_];
  Complex field = inputs_.phasors.row(f_, place.j)[static_cast<std::size_t>(place.i)];
  if (place.kind == solver::RadiatorKind::dipole) {
    field = std::cos(place.direction) * edge_mean(true, place.i, place.j) +
            std::sin(place.direction) * edge_mean(false, place.i, place.j);
  }
  // A sheet of 1 A/m is a current of 1 A/m times dx in its cell.
  const double width =
      place.kind == solver::RadiatorKind::current_sheet ? inputs_.grid.raster.cell : 1.0;
  return -0.5 * (field * std::conj(sum)).real() * width;
}

std::vector<double> FieldsAt::absorbed(const std::vector<std::uint8_t>& inside) const
{
  return edges_ ? edges_->absorbed_by_tissue(inside, inputs_.map.tissues.size())
                : absorbed_in_cells(inputs_, f_, inside);
}

FrequencyResult FieldsAt::power_balance() const
{
  const solver::ContourRecorder& around =
      inputs_.inflow != nullptr ? *inputs_.inflow : inputs_.radiation;
  FrequencyResult result;
  result.frequency = inputs_.phasors.frequencies()[f_];
  const std::vector<double> absorbed_powers = absorbed(counted_cells(inputs_));
  for (std::size_t t = 0; t < absorbed_powers.size(); ++t) {
    if (absorbed_powers[t] > 0.0) {
      result.absorbed_by_tissue[inputs_.map.tissues[t]] = absorbed_powers[t] * scale_;
    }
  }
  result.absorbed_power = total(absorbed_powers) * scale_;
  result.radiated_power = total(inputs_.radiation.edge_power(f_)) * scale_;
  result.source_power =
      inputs_.source ? delivered() * scale_
                     : result.radiated_power - total(around.edge_power(f_)) * scale_;
  result.power_balance_residual =
      std::abs(result.source_power - result.absorbed_power - result.radiated_power) /
      std::abs(result.source_power);
  result.uncertainty_db["power_balance"] = decibels(result.power_balance_residual);
  if (inputs_.surface != nullptr) {
    std::vector<double> edge_power = inputs_.surface->edge_power(f_);
    for (double& power : edge_power) {
      power *= scale_;
    }
    result.body_surface_power = total(edge_power);
    result.sector_power = sector_powers(
        inputs_.map.raster, inputs_.sectors, edge_power,
        [this](bool along_x, int i, int j) { return edge_flow(along_x, i, j); });
  }
  return result;
}

std::optional<FarFieldResult> FieldsAt::far_field(double source_power,
                                                  std::span<const double> angles) const
{
  if (!inputs_.outer_eps) {
    return std::nullopt;
  }
  const FarZone zone{edges_ ? solver::Polarisation::tez : solver::Polarisation::tmz,
                     inputs_.phasors.frequencies()[f_], *inputs_.outer_eps};
  const std::vector<FarPoint> points =
      postproc::far_field(inputs_.grid, inputs_.radiation, f_, zone, unit_, angles);
  FarFieldResult result;
  for (std::size_t n = 0; n < points.size(); ++n) {
    const double intensity = points[n].intensity;
    result.intensity.push_back(intensity);
    result.gain_db.push_back(
        10.0 * std::log10(2.0 * std::numbers::pi * intensity / source_power));
    if (inputs_.source) {
      const double bare = bare_intensity(inputs_.source->kind, zone,
                                         angles[n] - inputs_.source->direction);
      result.insertion_gain_db.push_back(over_bare_db(intensity, bare));
    } else {
      result.scattering_width.push_back(scattering_width(intensity, zone));
    }
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

Complex FieldsAt::edge_mean(bool along_x, int i, int j) const
{
  const auto at = static_cast<std::size_t>(i);
  return along_x ? 0.5 * (edges_->x_edge_row(j)[at] + edges_->x_edge_row(j + 1)[at])
                 : 0.5 * (edges_->y_edge_row(j)[at] + edges_->y_edge_row(j)[at + 1]);
}

std::vector<double> FieldsAt::heat_density(const TissueCover& entries,
                                           const std::vector<double>& densities) const
{
  const geometry::Raster& raster = inputs_.map.raster;
  if (edges_) {
    std::vector<float> share;
    for (const std::uint16_t entry : inputs_.map.cells) {
      share.push_back(entries.share[entry]);
    }
    std::vector<double> counted;
    counted.reserve(densities.size());
    for (const double density : densities) {
      counted.push_back(density > 0.0 ? 1.0 : 0.0);
    }
    return edges_->heat_by_cell(share, counted);
  }
  const std::vector<double> sigma = heating_conductivity(inputs_, f_);
  std::vector<double> half_sigma;  // by palette entry
  for (const geometry::Mixture& mixture : inputs_.map.palette) {
    const std::vector<double> fractions = share_fractions(inputs_, mixture);
    double sum = 0.0;
    for (std::size_t s = 0; s < fractions.size(); ++s) {
      const std::uint16_t tissue = mixture[s].tissue;
      sum += densities.at(tissue) > 0.0 ? 0.5 * fractions[s] * sigma[tissue] : 0.0;
    }
    half_sigma.push_back(sum);
  }
  std::vector<double> heat;
  for (int j = 0; j < raster.ny; ++j) {
    const auto row = inputs_.phasors.row(f_, j);
    for (int i = 0; i < raster.nx; ++i) {
      heat.push_back(half_sigma[inputs_.map.cells[raster.at(i, j)]] *
                     std::norm(row[static_cast<std::size_t>(i)]));
    }
  }
  return heat;
}

std::vector<float> FieldsAt::absorption_rate(double source_power,
                                             const std::vector<double>& densities) const
{
  const TissueCover entries = cover_of_entries(inputs_, densities);
  const std::vector<double> heat = heat_density(entries, densities);
  const double scale = std::norm(unit_) / source_power;
  std::vector<float> rate(heat.size());
  for (std::size_t p = 0; p < heat.size(); ++p) {
    const float mass = entries.mass[inputs_.map.cells[p]];
    rate[p] = mass > 0.0F && heat[p] > 0.0
                  ? static_cast<float>(scale * heat[p] / static_cast<double>(mass))
                  : 0.0F;
  }
  return rate;
}

TissueCover tissue_cover(const PowerInputs& inputs, const std::vector<double>& densities)
{
  const TissueCover entries = cover_of_entries(inputs, densities);
  const std::vector<std::uint8_t>& inside = counted_cells(inputs);
  TissueCover cover;
  for (std::size_t p = 0; p < inside.size(); ++p) {
    const std::uint16_t entry = inputs.map.cells[p];
    cover.mass.push_back(inside[p] != 0 ? entries.mass[entry] : 0.0F);
    cover.share.push_back(inside[p] != 0 ? entries.share[entry] : 0.0F);
  }
  return cover;
}

double FieldsAt::heat_in_layer(std::uint16_t tissue, double from, double to) const
{
  const geometry::Raster& raster = inputs_.map.raster;
  const double sigma = heating_conductivity(inputs_, f_)[tissue];
  const std::vector<std::uint8_t>& inside = counted_cells(inputs_);
  const auto row = inputs_.phasors.row(f_, 0);
  double sum = 0.0;
  for (int i = 0; i < raster.nx; ++i) {
    const double low = std::max(from, raster.x_of(i));
    const double high = std::min(to, raster.x_of(i + 1.0));
    if (high > low && inside[static_cast<std::size_t>(i)] != 0) {
      sum += (high - low) * std::norm(row[static_cast<std::size_t>(i)]);
    }
  }
  return 0.5 * sigma * sum * std::norm(unit_);
}

double FieldsAt::edge_flow(bool along_x, int i, int j) const
{
  const Complex here = centre(i, j);
  const Complex before = along_x ? centre(i - 1, j) : centre(i, j - 1);
  if (edges_) {
    // S_x = 1/2 Re(Ey Hz*), S_y = -1/2 Re(Ex Hz*).
    const auto at = static_cast<std::size_t>(i);
    const Complex e =
        (along_x ? edges_->y_edge_row(j)[at] : -edges_->x_edge_row(j)[at]) * unit_;
    return 0.25 * (e * std::conj(before + here)).real();
  }
  // S_x = -1/2 Re(Ez Hy*), j Omega mu0 Hy = dEz/dx; S_y = 1/2 Re(Ez Hx*), j Omega mu0 Hx
  // = -dEz/dy.
  const double omega =
      solver::discrete_omega(inputs_.phasors.frequencies()[f_], inputs_.grid.time_step);
  const Complex h = (here - before) / (Complex(0.0, omega) * vacuum_permeability *
                                       inputs_.grid.raster.cell);
  return -0.25 * ((before + here) * std::conj(h)).real();
}

void FieldsAt::append(const std::string& field,
                      std::vector<std::complex<float>>& values) const
{
  const geometry::Raster& raster = inputs_.map.raster;
  const bool is_centre = field == (edges_ ? "Hz" : "Ez");
  const bool along_x = field == (edges_ ? "Ex" : "Hx");
  if (!is_centre && !along_x && field != (edges_ ? "Ey" : "Hy")) {
    throw std::invalid_argument("this mode has no field " + field);
  }
  const auto column = [](int i) { return static_cast<std::size_t>(i); };
  // j Omega mu0 Hx = -dEz/dy, j Omega mu0 Hy = dEz/dx; the mean of both edges of a cell
  // is the central difference over two cells. Ez = 0 beyond the rim.
  const double omega =
      solver::discrete_omega(inputs_.phasors.frequencies()[f_], inputs_.grid.time_step);
  const Complex to_h = Complex(0.0, along_x ? 1.0 : -1.0) * unit_ /
                       (omega * vacuum_permeability * 2.0 * raster.cell);
  const auto ez = [&](int i, int j) {
    const bool outside = i < 0 || j < 0 || i >= raster.nx || j >= raster.ny;
    return outside ? Complex() : inputs_.phasors.row(f_, j)[column(i)];
  };
  for (int j = 0; j < raster.ny; ++j) {
    for (int i = 0; i < raster.nx; ++i) {
      Complex value;
      if (is_centre) {
        value = centre(i, j);
      } else if (edges_) {
        value = edge_mean(along_x, i, j) * unit_;
      } else {
        value =
            to_h * (along_x ? ez(i, j + 1) - ez(i, j - 1) : ez(i + 1, j) - ez(i - 1, j));
      }
      values.emplace_back(value);
    }
  }
}

}  // namespace torsowave::postproc
