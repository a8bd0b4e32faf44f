#include "solver/grid_dispersion.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <vector>

#include "materials/constants.hpp"
#include "materials/debye_least_squares.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

/// Directions in a quarter turn: the integrand is smooth and periodic, so a few are
/// exact.
constexpr int directions = 16;
constexpr int band_samples = 24;
/// Each step of Newton's method doubles the digits.
constexpr int most_newton_steps = 60;
/// Squared error at a wanted frequency against one in the band.
constexpr double wanted_weight = 1e4;

template <class Integrand>
[[nodiscard]] Complex mean_over_directions(Integrand&& at)
{
  Complex sum = 0.0;
  for (int n = 0; n < directions; ++n) {
    const double phi = 0.5 * std::numbers::pi * (n + 0.5) / directions;
    sum += at(std::cos(phi), std::sin(phi));
  }
  return sum / static_cast<double>(directions);
}

[[nodiscard]] Complex wavenumber(Complex eps, double frequency)
{
  return materials::two_pi * frequency / materials::speed_of_light * std::sqrt(eps);
}

/// What the averaged stencil takes from the sum of squares, (2/3) sx^2 sy^2, in units of
/// its product.
constexpr double averaged_share = 2.0 / 3.0;

/// K^2 dx^2/4 of a wave with k dx = z in direction (c, s), and its derivative by z.
struct SquaredCurl {
  SquaredCurl(Stencil stencil, Complex z, double c, double s)
  {
    const Complex x = std::sin(0.5 * z * c);
    const Complex y = std::sin(0.5 * z * s);
    const Complex x_slope = 0.5 * c * std::sin(z * c);
    const Complex y_slope = 0.5 * s * std::sin(z * s);
    value = x * x + y * y;
    slope = x_slope + y_slope;
    if (stencil == Stencil::averaged) {
      value -= averaged_share * x * x * y * y;
      slope -= averaged_share * (x_slope * y * y + y_slope * x * x);
    }
  }

  Complex value;
  Complex slope;
};

struct Samples {
  std::vector<double> frequencies;
  std::vector<double> warped;  ///< what the bilinear update makes of them
  std::vector<double> weights;
};

[[nodiscard]] Samples samples_of(const GridCorrection& correction)
{
  Samples samples;
  const double ratio = correction.band_to / correction.band_from;
  for (int n = 0; n < band_samples; ++n) {
    samples.frequencies.push_back(correction.band_from *
                                  std::pow(ratio, n / (band_samples - 1.0)));
    samples.weights.push_back(1.0);
  }
  for (const double frequency : correction.frequencies) {
    samples.frequencies.push_back(frequency);
    samples.weights.push_back(wanted_weight);
  }
  for (const double frequency : samples.frequencies) {
    samples.warped.push_back(std::tan(std::numbers::pi * frequency * correction.dt) /
                             (std::numbers::pi * correction.dt));
  }
  return samples;
}

}  // namespace

Complex grid_permittivity(Complex eps, double frequency, double cell, double dt,
                          Stencil stencil)
{
  const Complex z = cell * wavenumber(eps, frequency);
  const Complex mean = stencil == Stencil::row
                           ? SquaredCurl(Stencil::row, z, 1.0, 0.0).value
                           : mean_over_directions([&](double c, double s) {
                               return SquaredCurl(stencil, z, c, s).value;
                             });
  const double omega = discrete_omega(frequency, dt) / materials::speed_of_light;
  return 4.0 / (cell * cell) * mean / (omega * omega);
}

Complex source_gain(RadiatorKind kind, Complex eps, double frequency, double cell,
                    double dt, Stencil stencil, double direction)
{
  const Complex z = cell * wavenumber(eps, frequency);
  const double lag = discrete_omega(frequency, dt) / (materials::two_pi * frequency);
  if (kind == RadiatorKind::current_sheet) {
    return lag * z / std::sin(z);
  }
  if (kind == RadiatorKind::dipole && stencil != Stencil::averaged) {
    return 1.0;
  }
  const Complex slope = mean_over_directions(
      [&](double c, double s) { return SquaredCurl(stencil, z, c, s).slope; });
  const Complex residue = 0.5 * z / slope;
  if (kind == RadiatorKind::dipole) {
    const Complex along_y =
        mean_over_directions([&](double c, double /*s*/) { return c * std::sin(z * c); });
    const double y = std::sin(direction);
    return 1.0 + y * y * (2.0 * along_y / z * residue - 1.0);
  }
  if (kind == RadiatorKind::magnetic_line) {
    return lag * grid_permittivity(eps, frequency, cell, dt, stencil) / eps * residue;
  }
  return lag * residue;
}

Complex numerical_wavenumber(const Grid& grid, double angle, double frequency,
                             Complex eps_d, Stencil stencil)
{
  const double dx = grid.raster.cell;
  const double omega = discrete_omega(frequency, grid.time_step);
  // z = k dx; Newton's method from the wave in the limit of small cells.
  const Complex wanted = omega * dx / materials::speed_of_light * std::sqrt(eps_d);
  Complex z = wanted;
  if (wanted == 0.0) {
    return 0.0;
  }
  for (int n = 0; n < most_newton_steps; ++n) {
    const SquaredCurl at(stencil, z, std::cos(angle), std::sin(angle));
    const Complex step = (at.value - 0.25 * wanted * wanted) / at.slope;
    z -= step;
    if (std::abs(step) <= 1e-12 * std::abs(wanted)) {
      return z / dx;
    }
  }
  throw std::domain_error("the cells are too coarse for a plane wave of this frequency");
}

materials::DebyePalette correct_for_grid(const materials::DebyePalette& palette,
                                         const GridCorrection& correction)
{
  const Samples samples = samples_of(correction);
  const materials::DebyeBasis basis(samples.warped, palette.relaxation_times);
  materials::DebyePalette corrected = palette;
  for (materials::FittedMedium& medium : corrected.media) {
    if (!has_losses(medium)) {
      continue;
    }
    std::vector<Complex> targets;
    for (const double frequency : samples.frequencies) {
      const Complex eps =
          relative_permittivity(medium, palette.relaxation_times, frequency);
      targets.push_back(grid_permittivity(eps, frequency, correction.cell, correction.dt,
                                          correction.stencil));
    }
    const materials::RelativeFit fit =
        materials::least_squares_fit(basis, targets, samples.weights);
    medium.eps_inf = 1.0 + fit.unknowns[0];
    medium.conductivity = basis.conductivity(fit.unknowns[1]);
    for (std::size_t k = 0; k < medium.strengths.size(); ++k) {
      medium.strengths[k] = fit.unknowns[2 + k];
    }
  }
  return corrected;
}

}  // namespace torsowave::solver
