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

[[nodiscard]] bool is_transparent(const materials::FittedMedium& medium)
{
  const auto none = [](double s) { return s == 0.0; };
  return medium.conductor ||
         (medium.conductivity == 0.0 &&
          std::all_of(medium.strengths.begin(), medium.strengths.end(), none));
}

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
                          int dimensions)
{
  const Complex half = 0.5 * cell * wavenumber(eps, frequency);
  const auto square = [](Complex z) { return z * z; };
  const Complex mean =
      dimensions == 1 ? square(std::sin(half))
                      : mean_over_directions([&](double c, double s) {
                          return square(std::sin(half * c)) + square(std::sin(half * s));
                        });
  const double omega = discrete_omega(frequency, dt) / materials::speed_of_light;
  return 4.0 / (cell * cell) * mean / (omega * omega);
}

Complex source_gain(RadiatorKind kind, Complex eps, double frequency, double cell,
                    double dt)
{
  if (kind == RadiatorKind::dipole) {
    return 1.0;
  }
  const Complex z = cell * wavenumber(eps, frequency);
  const double lag = discrete_omega(frequency, dt) / (materials::two_pi * frequency);
  if (kind == RadiatorKind::current_sheet) {
    return lag * z / std::sin(z);
  }
  const Complex slope = mean_over_directions(
      [&](double c, double s) { return c * std::sin(z * c) + s * std::sin(z * s); });
  const Complex residue = z / slope;
  if (kind == RadiatorKind::magnetic_line) {
    return lag * grid_permittivity(eps, frequency, cell, dt) / eps * residue;
  }
  return lag * residue;
}

Complex numerical_wavenumber(const Grid& grid, double angle, double frequency,
                             Complex eps_d)
{
  const double dx = grid.raster.cell;
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  const double omega = discrete_omega(frequency, grid.time_step);
  // z = k dx; Newton's method from the wave in the limit of small cells.
  const Complex wanted = omega * dx / materials::speed_of_light * std::sqrt(eps_d);
  Complex z = wanted;
  if (wanted == 0.0) {
    return 0.0;
  }
  for (int n = 0; n < most_newton_steps; ++n) {
    const Complex x = std::sin(0.5 * z * c);
    const Complex y = std::sin(0.5 * z * s);
    const Complex residual = 4.0 * (x * x + y * y) - wanted * wanted;
    const Complex step = residual / (2.0 * (c * std::sin(z * c) + s * std::sin(z * s)));
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
    if (is_transparent(medium)) {
      continue;
    }
    std::vector<Complex> targets;
    for (const double frequency : samples.frequencies) {
      const Complex eps =
          relative_permittivity(medium, palette.relaxation_times, frequency);
      targets.push_back(grid_permittivity(eps, frequency, correction.cell, correction.dt,
                                          correction.dimensions));
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
