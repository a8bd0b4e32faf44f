// The Debye update against its own exact theory. The bilinear update puts
// (2/dt)(z - 1)/(z + 1) in the place of j w, so the permittivity that a phasor sees is
// known in closed form (derived in solver/medium.hpp), and the phasors must obey
//   laplacian(E) = -Omega^2 mu0 eps0 eps_d E + j Omega mu0 J
// with the five-point Laplacian, at every cell and frequency, to rounding.
// The scheme is that of M. Okoniewski, M. Mrozowski, M. A. Stuchly, IEEE AP-S Digest
// 1997, doi 10.1109/APS.1997.630163, in its bilinear form.

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::speed_of_light;
using materials::vacuum_permeability;
using materials::vacuum_permittivity;

constexpr int nx = 31;
constexpr int ny = 27;
constexpr int source_i = 12;
constexpr int source_j = 9;

/// Largest residual of the phasor equation over all cells, against the largest term.
double helmholtz_residual(const scenes::Scene& scene, const std::vector<double>& f)
{
  TmzStepper<double> stepper = scene.stepper<double>();
  const Waveform wave = pulse_waveform(3e9, 5.5e9);
  stepper.add_source({source_i, source_j, wave.current});
  PhasorRecorder recorder(scene.grid, f);
  SourceRecorder source(scene.grid, wave.current, f);
  for (int n = 0; n < 16000; ++n) {
    stepper.advance(1);
    recorder.sample(stepper);
    source.sample(stepper.step());
  }
  const double dx = scene.grid.raster.cell;
  double worst = 0.0;
  for (std::size_t w = 0; w < f.size(); ++w) {
    const double omega = discrete_omega(f[w], scene.grid.time_step);
    const Complex eps =
        discrete_permittivity(scene.medium.palette[0], scene.medium.relaxation_times,
                              f[w], scene.grid.time_step);
    const auto ez = [&](int i, int j) {
      const bool outside = i < 0 || i >= nx || j < 0 || j >= ny;
      return outside ? Complex() : recorder.row(w, j)[static_cast<std::size_t>(i)];
    };
    double largest = 0.0;
    double residual = 0.0;
    for (int j = 0; j < ny; ++j) {
      for (int i = 0; i < nx; ++i) {
        const Complex laplacian =
            (ez(i + 1, j) + ez(i - 1, j) + ez(i, j + 1) + ez(i, j - 1) - 4.0 * ez(i, j)) /
            (dx * dx);
        const Complex wave_term = -std::pow(omega / speed_of_light, 2) * eps * ez(i, j);
        const Complex current =
            i == source_i && j == source_j
                ? Complex(0.0, omega * vacuum_permeability) * source.sum(w) / (dx * dx)
                : Complex();
        largest = std::max(largest, std::abs(wave_term));
        residual = std::max(residual, std::abs(laplacian - wave_term - current));
      }
    }
    worst = std::max(worst, residual / largest);
  }
  return worst;
}

TEST(DebyeUpdate, PhasorsSeeTheDiscretePermittivity)
{
  for (int poles = 0; poles <= 4; ++poles) {
    const scenes::Scene scene =
        scenes::uniform(nx, ny, 0, scenes::times(poles), {scenes::wet(poles)});
    EXPECT_LT(helmholtz_residual(scene, {0.8e9, 2.45e9, 4.9e9}), 1e-10) << poles;
  }
}

/// Coefficients of a polynomial in z, constant term first.
using Polynomial = std::vector<double>;

Polynomial product(const Polynomial& a, const Polynomial& b)
{
  Polynomial c(a.size() + b.size() - 1, 0.0);
  for (std::size_t i = 0; i < a.size(); ++i) {
    for (std::size_t j = 0; j < b.size(); ++j) {
      c[i + j] += a[i] * b[j];
    }
  }
  return c;
}

void add(Polynomial& a, const Polynomial& b, double weight)
{
  a.resize(std::max(a.size(), b.size()), 0.0);
  for (std::size_t i = 0; i < b.size(); ++i) {
    a[i] += weight * b[i];
  }
}

/// The exact dispersion relation of a mode with Laplacian -K^2 as a polynomial in z.
///
/// (z - 1)^2 eps_d(z) + (c dt K)^2 z = 0, multiplied by (z + 1) + (2 tau_k/dt)(z - 1) for
/// each term. Conduction brings sigma dt (z + 1)/(2 eps0 (z - 1)), which one factor
/// (z - 1) cancels.
Polynomial dispersion(const scenes::Scene& scene, double laplacian)
{
  const double dt = scene.grid.time_step;
  const MediumEntry& entry = scene.medium.palette[0];
  const std::vector<double>& tau = scene.medium.relaxation_times;
  const auto factor = [&](std::size_t k) {
    return Polynomial{1.0 - 2.0 * tau[k] / dt, 1.0 + 2.0 * tau[k] / dt};
  };
  const auto all_but = [&](std::size_t left_out) {
    Polynomial p{1.0};
    for (std::size_t k = 0; k < tau.size(); ++k) {
      p = k == left_out ? p : product(p, factor(k));
    }
    return p;
  };
  const Polynomial twice{1.0, -2.0, 1.0};  // (z - 1)^2
  const Polynomial all = all_but(tau.size());
  Polynomial sum = product(product(twice, all), {entry.eps_inf});
  for (std::size_t k = 0; k < tau.size(); ++k) {
    add(sum, product(twice, product({1.0, 1.0}, all_but(k))), entry.strengths[k]);
  }
  add(sum, product({-1.0, 0.0, 1.0}, all),
      entry.conductivity * dt / (2.0 * vacuum_permittivity));
  add(sum, product({0.0, 1.0}, all), std::pow(speed_of_light * dt, 2) * laplacian);
  return sum;
}

/// Amplitude of mode (p, q) of the closed box after each step of a ring-down.
struct ModeRecord {
  double laplacian = 0.0;  ///< K^2 [1/m^2]
  std::vector<double> amplitudes;
};

ModeRecord ring_down(const scenes::Scene& scene, int p, int q)
{
  const double kx = p * std::numbers::pi / (nx + 1);
  const double ky = q * std::numbers::pi / (ny + 1);
  ModeRecord record;
  record.laplacian = 4.0 *
                     (std::pow(std::sin(0.5 * kx), 2) + std::pow(std::sin(0.5 * ky), 2)) /
                     std::pow(scene.grid.raster.cell, 2);
  TmzStepper<double> stepper = scene.stepper<double>();
  const double dt = scene.grid.time_step;
  stepper.add_source(
      {source_i, source_j, [=](double t) { return t < 3.0 * dt ? 1.0 : 0.0; }});
  stepper.advance(5);
  for (int n = 0; n < 400; ++n) {
    stepper.advance(1);
    double sum = 0.0;
    for (int j = 0; j < ny; ++j) {
      const auto row = stepper.centre_row(j);
      for (int i = 0; i < nx; ++i) {
        sum += row[static_cast<std::size_t>(i)] * std::sin(kx * (i + 1)) *
               std::sin(ky * (j + 1));
      }
    }
    record.amplitudes.push_back(sum);
  }
  return record;
}

TEST(DebyeUpdate, ModesOfAClosedBoxRingDownByTheDispersionRelation)
{
  // A ring-down is a sum of powers of the relation's roots, so its polynomial is a
  // recurrence that the amplitudes obey from any step on.
  for (int poles = 0; poles <= 4; ++poles) {
    const scenes::Scene scene =
        scenes::uniform(nx, ny, 0, scenes::times(poles), {scenes::wet(poles)});
    for (const int p : {1, 3, 8}) {
      const ModeRecord mode = ring_down(scene, p, 2);
      const Polynomial relation = dispersion(scene, mode.laplacian);
      ASSERT_EQ(relation.size(), static_cast<std::size_t>(poles) + 3U);
      double worst = 0.0;
      double largest = 0.0;
      for (std::size_t n = 0; n + relation.size() <= mode.amplitudes.size(); ++n) {
        double sum = 0.0;
        for (std::size_t c = 0; c < relation.size(); ++c) {
          sum += relation[c] * mode.amplitudes[n + c];
        }
        worst = std::max(worst, std::abs(sum));
        largest = std::max(largest, std::abs(relation.back() * mode.amplitudes[n]));
      }
      EXPECT_LT(worst, 1e-12 * largest) << poles << " " << p;
      // It must fall: roots lie inside the unit circle.
      EXPECT_LT(std::abs(mode.amplitudes.back()),
                0.7 * std::abs(mode.amplitudes.front()));
    }
  }
}

}  // namespace
}  // namespace torsowave::solver
