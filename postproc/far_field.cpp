#include "postproc/far_field.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "materials/constants.hpp"
#include "solver/medium.hpp"

namespace torsowave::postproc {
namespace {

using Complex = std::complex<double>;
using std::numbers::pi;

constexpr Complex imaginary_unit(0.0, 1.0);

/// kappa of the wave equation: mu0 [H/m] or eps0 eps [F/m].
[[nodiscard]] double kappa(const FarZone& zone)
{
  return zone.polarisation == solver::Polarisation::tmz
             ? materials::vacuum_permeability
             : materials::vacuum_permittivity * zone.eps;
}

/// An edge of the contour as N needs it.
struct ContourSample {
  double x = 0.0;  ///< middle of the edge [m]
  double y = 0.0;
  bool along_x = false;  ///< the normal
  double side = 0.0;     ///< +1 or -1: the normal's sense
  Complex difference;    ///< psi_out - psi_in
  Complex mean;
};

[[nodiscard]] std::vector<ContourSample> samples_of(
    const solver::Grid& grid, const solver::ContourRecorder& recorder, std::size_t f,
    const FarZone& zone)
{
  // TMz: j Omega mu0 Hy = dEz/dx, j Omega mu0 Hx = -dEz/dy. TEz: j Omega eps0 eps Ex =
  // dHz/dy, j Omega eps0 eps Ey = -dHz/dx: the signs the other way round.
  const double sign = zone.polarisation == solver::Polarisation::tmz ? 1.0 : -1.0;
  const Complex step = imaginary_unit * sign *
                       solver::discrete_omega(zone.frequency, grid.time_step) *
                       kappa(zone) * grid.raster.cell;
  const std::span<const Complex> centre = recorder.centre_sums(f);
  const std::span<const Complex> across = recorder.edge_sums(f);
  std::vector<ContourSample> samples;
  samples.reserve(centre.size());
  for (std::size_t p = 0; p < centre.size(); ++p) {
    const geometry::ContourEdge& edge = recorder.contour().edges[p];
    const double sense = edge.di - edge.dj;
    samples.push_back({grid.raster.x_of(edge.i + 0.5 + 0.5 * edge.di),
                       grid.raster.y_of(edge.j + 0.5 + 0.5 * edge.dj), edge.di != 0,
                       static_cast<double>(edge.di + edge.dj), step * sense * across[p],
                       centre[p]});
  }
  return samples;
}

/// The grid's plane wave in one direction.
struct GridWave {
  double kx = 0.0;  ///< [rad/m]
  double ky = 0.0;
  double gain = 1.0;  ///< 1/(dK^2/d(k^2))
};

[[nodiscard]] GridWave grid_wave(const solver::Grid& grid, const FarZone& zone,
                                 double angle)
{
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  const double k =
      solver::numerical_wavenumber(grid, angle, zone.frequency, zone.eps).real();
  const double z = k * grid.raster.cell;
  return {k * c, k * s, z / (c * std::sin(z * c) + s * std::sin(z * s))};
}

/// N of the file's comment. On an edge mean(w) = cos(k_n dx/2) w and w_out - w_in =
/// 2 j sin(k_n dx/2) w, with w at its middle and k_n along its outward normal.
[[nodiscard]] Complex spectrum(const std::vector<ContourSample>& samples,
                               const GridWave& wave, double cell)
{
  const double half_x = 0.5 * wave.kx * cell;
  const double half_y = 0.5 * wave.ky * cell;
  const double cos_x = std::cos(half_x);
  const double cos_y = std::cos(half_y);
  const Complex jump_x(0.0, 2.0 * std::sin(half_x));
  const Complex jump_y(0.0, 2.0 * std::sin(half_y));
  Complex sum;
  for (const ContourSample& at : samples) {
    const Complex term = at.along_x ? cos_x * at.difference - at.side * jump_x * at.mean
                                    : cos_y * at.difference - at.side * jump_y * at.mean;
    sum += std::polar(1.0, wave.kx * at.x + wave.ky * at.y) * term;
  }
  return sum;
}

[[nodiscard]] double wavenumber(const FarZone& zone)
{
  return materials::two_pi * zone.frequency / materials::speed_of_light *
         std::sqrt(zone.eps);
}

/// The only tissue of a cell, if it has but one.
[[nodiscard]] std::optional<std::uint16_t> pure_tissue(const geometry::TissueMap& map,
                                                       std::size_t cell)
{
  const geometry::Mixture& mixture = map.palette[map.cells[cell]];
  return mixture.size() == 1 ? std::optional(mixture.front().tissue) : std::nullopt;
}

}  // namespace

std::vector<FarPoint> far_field(const solver::Grid& grid,
                                const solver::ContourRecorder& contour, std::size_t f,
                                const FarZone& zone, Complex unit,
                                std::span<const double> angles)
{
  const std::vector<ContourSample> samples = samples_of(grid, contour, f, zone);
  const double omega = materials::two_pi * zone.frequency;
  const double slowed = omega / solver::discrete_omega(zone.frequency, grid.time_step);
  const double k = wavenumber(zone);
  const Complex to_far =
      0.25 * imaginary_unit * std::sqrt(2.0 * imaginary_unit / (pi * k));
  std::vector<FarPoint> points;
  points.reserve(angles.size());
  for (const double angle : angles) {
    const GridWave wave = grid_wave(grid, zone, angle);
    const Complex amplitude = to_far * std::sqrt(wave.gain * slowed) * unit *
                              spectrum(samples, wave, grid.raster.cell);
    points.push_back({amplitude, k * std::norm(amplitude) / (2.0 * omega * kappa(zone))});
  }
  return points;
}

double bare_intensity(solver::RadiatorKind kind, const FarZone& zone, double angle)
{
  const double per_henry = materials::two_pi * zone.frequency / (16.0 * pi);
  switch (kind) {
    case solver::RadiatorKind::line_current:
      return per_henry * materials::vacuum_permeability;
    case solver::RadiatorKind::magnetic_line:
      return per_henry * materials::vacuum_permittivity * zone.eps;
    case solver::RadiatorKind::dipole: {
      constexpr double rounding = 1e-12;  // of an angle along the axis
      const double s = std::sin(angle);
      return std::abs(s) < rounding ? 0.0
                                    : per_henry * materials::vacuum_permeability * s * s;
    }
    default:
      throw std::invalid_argument("a current sheet has no far field in a slice");
  }
}

double scattering_width(double intensity, const FarZone& zone)
{
  return 4.0 * pi * materials::vacuum_impedance / std::sqrt(zone.eps) * intensity;
}

std::optional<double> outer_permittivity(const geometry::TissueMap& map,
                                         const materials::DebyePalette& media,
                                         const geometry::Contour& contour)
{
  const std::optional<std::uint16_t> outer = pure_tissue(map, 0);
  if (!outer) {
    return std::nullopt;
  }
  const auto is_outer = [&](std::size_t cell) { return pure_tissue(map, cell) == outer; };
  for (std::size_t p = 0; p < map.cells.size(); ++p) {
    if (contour.inside[p] == 0 && !is_outer(p)) {
      return std::nullopt;
    }
  }
  const bool meets_body = std::ranges::any_of(
      contour.edges, [&](const auto& e) { return !is_outer(map.raster.at(e.i, e.j)); });
  const materials::FittedMedium& medium = media.media[*outer];
  const bool relaxes = std::ranges::any_of(
      medium.strengths, [](double strength) { return strength > 0.0; });
  if (meets_body || medium.conductor || medium.conductivity > 0.0 || relaxes) {
    return std::nullopt;
  }
  return medium.eps_inf;
}

}  // namespace torsowave::postproc
