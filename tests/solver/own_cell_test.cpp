#include "solver/own_cell.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

constexpr double frequency = 2.45e9;
constexpr Complex muscle(52.7, -12.8);  // about; only that it has losses matters here

/// The lattice's Green function at its origin: the mean over q_x and q_y of
/// 1/(4 - 2 cos q_x - 2 cos q_y - z^2), the first mean in closed form (derived here).
Complex lattice_green(Complex z_squared)
{
  constexpr int samples = 1 << 14;
  Complex sum;
  for (int n = 0; n < samples; ++n) {
    const double q = materials::two_pi * (n + 0.5) / samples;
    const Complex a = 4.0 - 2.0 * std::cos(q) - z_squared;
    sum += 1.0 / (std::sqrt(a - 2.0) * std::sqrt(a + 2.0));
  }
  return sum / static_cast<double>(samples);
}

struct Excess {
  double found;
  double lattice;
  double filament;
};

Excess excess_at(double cell)
{
  const double dt = stable_time_step(cell, 0.99);
  const Complex eps_d = grid_permittivity(muscle, frequency, cell, dt);
  const Complex gain =
      source_gain(RadiatorKind::line_current, muscle, frequency, cell, dt);
  const double discrete = discrete_omega(frequency, dt);
  const Complex z = discrete * cell / materials::speed_of_light * std::sqrt(eps_d);
  const double lattice = -0.5 * discrete * materials::vacuum_permeability *
                         lattice_green(z * z).imag() / std::norm(gain);
  // -1/2 Re(E I*) of E = -(w mu0/4) H0(2)(k rho) as rho -> 0: H0(2) tends to
  // 1 - (2 j/pi) ln(k rho), up to real multiples of j.
  const double omega = materials::two_pi * frequency;
  const double filament = 0.125 * omega * materials::vacuum_permeability *
                          (1.0 + 2.0 / std::numbers::pi * std::arg(std::sqrt(muscle)));
  return {own_cell_excess(muscle, eps_d, gain, frequency, cell, dt), lattice - filament,
          filament};
}

// What the expansion leaves is of fourth order times a logarithm.
TEST(OwnCell, TheExcessIsThatOfTheLattice)
{
  std::array<double, 2> rest{};
  for (std::size_t n = 0; n < 2; ++n) {
    const Excess at = excess_at(n == 0 ? 0.8e-3 : 0.4e-3);
    EXPECT_NEAR(at.found / at.filament, at.lattice / at.filament, 1e-3);
    rest[n] = std::abs(at.found - at.lattice) / at.filament;
  }
  EXPECT_LT(rest[1], 1e-4);
  EXPECT_GT(rest[0] / rest[1], 10.0);
}

}  // namespace
}  // namespace torsowave::solver
