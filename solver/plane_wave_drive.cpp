#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <utility>

#include <Eigen/Dense>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/plane_wave_drive_internal.hpp"

namespace torsowave::solver {
namespace {

/// Terms on either side of the middle one, and frequencies at which they are fitted.
constexpr int reach = 8;
constexpr int terms = 2 * reach + 1;
constexpr int samples = 40;
/// Cells per vacuum wavelength up to which the factor is met.
constexpr double coarsest = 8.0;
/// Keeps the weights small where they hardly matter, at 1e-12 of the error.
constexpr double regularisation = 1e-12;

}  // namespace

PlaneWaveDrive::PlaneWaveDrive(const Grid& grid, WaveDirection direction,
                               std::function<double(double)> waveform)
    : waveform_(std::move(waveform)), time_step_(grid.time_step)
{
  // Terms dx/(c sqrt 2) apart, whatever the time step, keep the fit well conditioned.
  const double steps_per_cell =
      grid.raster.cell / (materials::speed_of_light * time_step_);
  spacing_ = std::max(1, static_cast<int>(std::lround(0.7 * steps_per_cell)));
  const int latest = static_cast<int>(std::ceil(steps_per_cell));
  for (int n = 0; n < 2 * reach * spacing_ + latest + 1; ++n) {
    history_.push_back(at_step(reach * spacing_ - n));
  }
  for (int r = 1; r < direction.major(); ++r) {
    filters_.push_back(design(grid, direction, r));
  }
}

double PlaneWaveDrive::at_step(long step) const
{
  return waveform_(static_cast<double>(step) * time_step_);
}

void PlaneWaveDrive::advance()
{
  ++step_;
  std::shift_right(history_.begin(), history_.end(), 1);
  history_.front() = at_step(step_ + static_cast<long>(reach) * spacing_);
}

double PlaneWaveDrive::sample(int r) const
{
  if (r == 0) {
    return history_[static_cast<std::size_t>(reach) * static_cast<std::size_t>(spacing_)];
  }
  const Filter& filter = filters_[static_cast<std::size_t>(r) - 1];
  double sum = 0.0;
  auto at = static_cast<std::size_t>(filter.newest);
  for (const double weight : filter.weights) {
    sum += weight * history_[at];
    at += static_cast<std::size_t>(spacing_);
  }
  return sum;
}

/// Unknown weights c_m of the waveform (middle + (m - reach) spacing) steps ago:
/// sum_m c_m e^(-j w dt (middle + (m - reach) spacing)) = e^(-j k s).
PlaneWaveDrive::Filter PlaneWaveDrive::design(const Grid& grid, WaveDirection direction,
                                              int r) const
{
  const double s = r * grid.raster.cell / direction.length();
  const int middle =
      static_cast<int>(std::lround(s / (materials::speed_of_light * time_step_)));
  const double highest = materials::speed_of_light / (coarsest * grid.raster.cell);
  Eigen::MatrixXd matrix = Eigen::MatrixXd::Zero(2 * samples + terms, terms);
  Eigen::VectorXd target = Eigen::VectorXd::Zero(2 * samples + terms);
  for (int n = 0; n < samples; ++n) {
    const double frequency =
        highest * std::cos(std::numbers::pi * (n + 0.5) / (2.0 * samples));
    const double turn = materials::two_pi * frequency * time_step_;
    const double k = numerical_wavenumber(grid, direction.angle(), frequency).real();
    target(n) = std::cos(k * s - turn * middle);
    target(samples + n) = -std::sin(k * s - turn * middle);
    for (int m = 0; m < terms; ++m) {
      const double phase = turn * (m - reach) * spacing_;
      matrix(n, m) = std::cos(phase);
      matrix(samples + n, m) = -std::sin(phase);
    }
  }
  for (int m = 0; m < terms; ++m) {
    matrix(2 * samples + m, m) = regularisation;
  }
  const Eigen::VectorXd weights =
      Eigen::HouseholderQR<Eigen::MatrixXd>(matrix).solve(target);
  return {middle, {weights.begin(), weights.end()}};
}

}  // namespace torsowave::solver
