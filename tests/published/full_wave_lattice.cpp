#include "published/full_wave_lattice.hpp"

#include <cmath>
#include <complex>
#include <numbers>
#include <stdexcept>

#include "materials/constants.hpp"
#include "published/full_wave_run.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/layered_cylinder.hpp"
#include "solver/medium.hpp"

namespace torsowave::reference {
namespace {

using Complex = std::complex<double>;

[[nodiscard]] Complex lattice_green_at_origin(Complex z_squared)
{
  constexpr int samples = 1 << 14;
  Complex sum = 0.0;
  for (int n = 0; n < samples; ++n) {
    const double q = 2.0 * std::numbers::pi * (n + 0.5) / samples;
    const Complex a = 4.0 - 2.0 * std::cos(q) - z_squared;
    // Both roots have a positive real part; that of a^2 - 4 would change branch.
    sum += 1.0 / (std::sqrt(a - 2.0) * std::sqrt(a + 2.0));
  }
  return sum / static_cast<double>(samples);
}

[[nodiscard]] Complex stepped_permittivity(const app::RunPlan& plan,
                                           const std::string& tissue, double frequency)
{
  for (const materials::FittedMedium& medium : plan.stepped.media) {
    if (medium.tissue == tissue) {
      return solver::discrete_permittivity(
          {false, medium.eps_inf, medium.conductivity, medium.strengths},
          plan.stepped.relaxation_times, frequency, plan.grid.time_step);
    }
  }
  throw std::invalid_argument("the plan has no " + tissue);
}

}  // namespace

double lattice_source_power(const app::RunPlan& plan, const std::string& tissue,
                            std::size_t frequency)
{
  const double f = plan.scenario.frequencies.at(frequency);
  const double cell = plan.grid.raster.cell;
  const double omega = solver::discrete_omega(f, plan.grid.time_step);
  const double z = omega * cell / materials::speed_of_light;
  const Complex own_field =
      Complex(0.0, -omega * materials::vacuum_permeability) *
      lattice_green_at_origin(z * z * stepped_permittivity(plan, tissue, f));
  const Complex gain = solver::source_gain(solver::RadiatorKind::line_current,
                                           fitted_permittivity(plan, tissue, frequency),
                                           f, cell, plan.grid.time_step);
  return -0.5 * own_field.real() / std::norm(gain);
}

double own_cell_excess(const app::RunPlan& plan, const std::string& tissue,
                       std::size_t frequency)
{
  const solver::cylinder::Solution exact(
      {{}, fitted_permittivity(plan, tissue, frequency)}, solver::Polarisation::tmz,
      plan.scenario.frequencies.at(frequency), solver::cylinder::LineSource{});
  return lattice_source_power(plan, tissue, frequency) - exact.powers().delivered.value();
}

}  // namespace torsowave::reference
