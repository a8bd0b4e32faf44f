#include "published/absorber_echo.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

#include "materials/constants.hpp"
#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::reference {
namespace {

using materials::speed_of_light;
using materials::vacuum_permittivity;

constexpr double courant = 0.99;

[[nodiscard]] std::size_t steps_of(const EchoCase& c)
{
  return static_cast<std::size_t>(c.duration / solver::stable_time_step(c.cell, courant));
}

/// Quadrant a, b >= 0 of a field that is even about the axes, (side, side).
class EndlessGrid {
public:
  EndlessGrid(const EchoCase& c, int side)
      : side_(side), dt_(solver::stable_time_step(c.cell, courant)), cell_(c.cell)
  {
    const auto size = static_cast<std::size_t>(side) * static_cast<std::size_t>(side);
    ez_.assign(size, 0.0);
    curl_ = ez_;
    q_.assign(c.relaxation_times.size(), ez_);
    double s = c.medium.conductivity * dt_ / (2.0 * vacuum_permittivity);
    for (std::size_t k = 0; k < q_.size(); ++k) {
      gain_.push_back(dt_ / (2.0 * c.relaxation_times[k] + dt_));
      s += c.medium.strengths[k] * gain_[k];
    }
    const double n = c.medium.eps_inf + s;
    ca_ = (c.medium.eps_inf - s) / n;
    cb_ = 1.0 / n;
    for (std::size_t k = 0; k < q_.size(); ++k) {
      cq_.push_back(2.0 * gain_[k] * c.medium.strengths[k] / n);
    }
  }

  /// One time step of the cells with a, b < reach; `current` [A] at the half step.
  void step(int reach, double current)
  {
    const double ratio = speed_of_light * dt_ / cell_;
    for (int b = 0; b < reach; ++b) {
      add_laplacian(b, reach, ratio * ratio);
    }
    for (int b = 0; b < reach; ++b) {
      update_row(b, reach);
    }
    const double change = cb_ * dt_ / vacuum_permittivity * current / (cell_ * cell_);
    ez_[0] -= change;
    for (std::size_t k = 0; k < q_.size(); ++k) {
      q_[k][0] -= gain_[k] * change;
    }
  }

  [[nodiscard]] double ez(int a, int b) const { return ez_[at(a, b)]; }

private:
  [[nodiscard]] std::size_t at(int a, int b) const
  {
    return static_cast<std::size_t>(b) * static_cast<std::size_t>(side_) +
           static_cast<std::size_t>(a);
  }

  void add_laplacian(int b, int reach, double weight)
  {
    const double* here = &ez_[at(0, b)];
    const double* below = &ez_[at(0, std::abs(b - 1))];
    const double* above = &ez_[at(0, b + 1)];
    double* curl = &curl_[at(0, b)];
    curl[0] += weight * (2.0 * here[1] + above[0] + below[0] - 4.0 * here[0]);
    for (int a = 1; a < reach; ++a) {
      curl[a] +=
          weight * (here[a - 1] + here[a + 1] + above[a] + below[a] - 4.0 * here[a]);
    }
  }

  void update_row(int b, int reach)
  {
    double* ez = &ez_[at(0, b)];
    const double* curl = &curl_[at(0, b)];
    for (int a = 0; a < reach; ++a) {
      const double before = ez[a];
      double after = ca_ * before + cb_ * curl[a];
      for (std::size_t k = 0; k < q_.size(); ++k) {
        after += cq_[k] * q_[k][at(a, b)];
      }
      for (std::size_t k = 0; k < q_.size(); ++k) {
        double& q = q_[k][at(a, b)];
        q += gain_[k] * (before + after - 2.0 * q);
      }
      ez[a] = after;
    }
  }

  int side_;
  double dt_;
  double cell_;
  double ca_ = 1.0;
  double cb_ = 1.0;
  std::vector<double> gain_, cq_;
  std::vector<double> ez_, curl_;
  std::vector<std::vector<double>> q_;
};

}  // namespace

EchoCase echo_case(const std::string& medium, double center, double bandwidth,
                   double cell)
{
  const materials::Tissue* const tissue = materials::find_tissue(medium);
  if (tissue == nullptr) {
    throw std::invalid_argument("no such tissue: " + medium);
  }
  const materials::DebyePalette palette =
      materials::fit_debye({tissue, 1}, {0.3e9, 3e9, {}, 0.01});
  const materials::FittedMedium& fit = palette.media.front();
  const solver::Waveform wave = solver::pulse_waveform(center, bandwidth);
  return {palette.relaxation_times,
          {false, fit.eps_inf, fit.conductivity, fit.strengths},
          cell,
          wave.end + 2e-9,
          wave.current};
}

QuadrantHistory endless_grid(const EchoCase& c)
{
  const std::size_t steps = steps_of(c);
  // Light crosses 0.99/sqrt(2) cells in a step; what has gone further than half the way
  // cannot be back in time. 60 cells more hold what the grid lets run ahead.
  const double speed = courant / std::numbers::sqrt2 / std::sqrt(c.medium.eps_inf);
  const auto reach_after = [&](std::size_t n) {
    return static_cast<int>(speed * static_cast<double>(n)) + 60;
  };
  EndlessGrid grid(c, reach_after(steps / 2) + c.distance + 2);
  QuadrantHistory history{c.distance + 1, steps, {}};
  const double dt = solver::stable_time_step(c.cell, courant);
  for (std::size_t n = 0; n < steps; ++n) {
    grid.step(std::min(reach_after(n), reach_after(steps - n) + c.distance),
              c.current((static_cast<double>(n) + 0.5) * dt));
    for (int b = 0; b < history.size; ++b) {
      for (int a = 0; a < history.size; ++a) {
        history.ez.push_back(grid.ez(a, b));
      }
    }
  }
  return history;
}

QuadrantHistory with_absorber(const EchoCase& c, const solver::AbsorberSpec& spec)
{
  const int middle = spec.cells + c.distance;
  const auto from = static_cast<std::size_t>(middle);
  const int side = 2 * middle + 1;
  solver::Grid grid{
      {side, side, c.cell, {}}, solver::stable_time_step(c.cell, courant), spec.cells};
  const solver::Medium medium{
      c.relaxation_times, {c.medium}, std::vector<std::uint16_t>(grid.raster.size(), 0)};
  solver::TmzStepper<double> stepper(grid, medium, spec, {});
  stepper.add_source({middle, middle, c.current});
  QuadrantHistory history{c.distance + 1, steps_of(c), {}};
  for (std::size_t n = 0; n < history.steps; ++n) {
    stepper.advance(1);
    for (int b = 0; b < history.size; ++b) {
      const auto row = stepper.centre_row(middle + b).subspan(from);
      for (int a = 0; a < history.size; ++a) {
        history.ez.push_back(row[static_cast<std::size_t>(a)]);
      }
    }
  }
  return history;
}

Echo echo_between(const QuadrantHistory& endless, const QuadrantHistory& absorbed)
{
  struct Energies {
    double echo = 0.0;
    double incident = 0.0;
    [[nodiscard]] double decibels() const { return 10.0 * std::log10(echo / incident); }
  };
  Energies ring;
  Energies interior;
  const int line = endless.size - 3;
  for (std::size_t n = 0; n < endless.steps; ++n) {
    for (int b = 0; b < endless.size; ++b) {
      for (int a = b == 0 ? 1 : 0; a < endless.size; ++a) {
        const double incident = endless.at(n, a, b);
        const double echo = absorbed.at(n, a, b) - incident;
        interior.echo += echo * echo;
        interior.incident += incident * incident;
        if (std::max(a, b) == line) {
          ring.echo += echo * echo;
          ring.incident += incident * incident;
        }
      }
    }
  }
  return {ring.decibels(), interior.decibels()};
}

Echo measure_echo(const std::string& medium, double center, double bandwidth, double cell)
{
  const EchoCase c = echo_case(medium, center, bandwidth, cell);
  return echo_between(endless_grid(c), with_absorber(c, {}));
}

}  // namespace torsowave::reference
