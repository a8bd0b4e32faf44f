#include "materials/debye_least_squares.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "materials/constants.hpp"

namespace torsowave::materials {
namespace {

using Complex = std::complex<double>;
using Tall = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor,
                           Eigen::Dynamic, static_cast<int>(max_unknowns) + 1>;

/// Rows (real, imaginary) of A x = b divided by |eps| and weighted; b is the last column.
Tall weighted_rows(const DebyeBasis& basis, std::span<const Complex> targets,
                   std::span<const double> weights)
{
  const auto columns = static_cast<Eigen::Index>(basis.unknowns());
  const auto samples = static_cast<Eigen::Index>(basis.samples());
  Tall rows = Tall::Zero(std::max(2 * samples, columns + 1), columns + 1);
  for (Eigen::Index i = 0; i < samples; ++i) {
    const auto s = static_cast<std::size_t>(i);
    const double scale = std::sqrt(weights[s]) / std::abs(targets[s]);
    for (Eigen::Index k = 0; k < columns; ++k) {
      const Complex value = basis.function(static_cast<std::size_t>(k))[s];
      rows(2 * i, k) = scale * value.real();
      rows(2 * i + 1, k) = scale * value.imag();
    }
    rows(2 * i, columns) = scale * (targets[s].real() - 1.0);
    rows(2 * i + 1, columns) = scale * targets[s].imag();
  }
  return rows;
}

/// The square system with the same least-squares solutions.
SmallSystem reduce(const Tall& rows)
{
  const Eigen::Index n = rows.cols() - 1;
  const Eigen::HouseholderQR<Tall> qr(rows);
  SmallSystem system;
  system.unknowns = static_cast<std::size_t>(n);
  Eigen::Map<Eigen::MatrixXd>(system.matrix.data(), n, n) =
      qr.matrixQR().topLeftCorner(n, n).triangularView<Eigen::Upper>();
  Eigen::Map<Eigen::VectorXd>(system.right.data(), n) = qr.matrixQR().col(n).head(n);
  return system;
}

void measure(const DebyeBasis& basis, std::span<const Complex> targets, RelativeFit& fit)
{
  std::vector<Complex> difference(targets.begin(), targets.end());
  for (Complex& value : difference) {
    value -= 1.0;
  }
  for (std::size_t k = 0; k < basis.unknowns(); ++k) {
    const std::span<const Complex> function = basis.function(k);
    for (std::size_t s = 0; s < difference.size(); ++s) {
      difference[s] -= fit.unknowns[k] * function[s];
    }
  }
  fit.errors.resize(targets.size());
  for (std::size_t s = 0; s < targets.size(); ++s) {
    fit.errors[s] = std::sqrt(std::norm(difference[s]) / std::norm(targets[s]));
  }
  const auto worst = std::ranges::max_element(fit.errors);
  fit.worst = *worst;
  fit.worst_sample = static_cast<std::size_t>(worst - fit.errors.begin());
}

/// Lawson's step; returns the weighted rms error before it, a bound from below.
double reweight(std::span<const double> errors, std::span<double> weights)
{
  double power = 0.0;
  double total = 0.0;
  for (std::size_t s = 0; s < errors.size(); ++s) {
    power += weights[s] * errors[s] * errors[s];
    total += weights[s] * errors[s];
  }
  for (std::size_t s = 0; s < errors.size(); ++s) {
    weights[s] *= errors[s] / total;
  }
  return std::sqrt(power);
}

}  // namespace

DebyeBasis::DebyeBasis(std::span<const double> frequencies, std::span<const double> times)
    : frequencies_(frequencies),
      unknowns_(times.size() + 2),
      omega_mid_(two_pi * std::sqrt(frequencies.front() * frequencies.back())),
      values_(unknowns_ * frequencies.size())
{
  for (std::size_t s = 0; s < samples(); ++s) {
    const double omega = two_pi * frequencies_[s];
    values_[s] = 1.0;
    values_[samples() + s] = {0.0, -omega_mid_ / omega};
    for (std::size_t k = 0; k < times.size(); ++k) {
      const double x = omega * times[k];
      const double in_phase = 1.0 / (1.0 + x * x);
      values_[(2 + k) * samples() + s] = {in_phase, -in_phase * x};
    }
  }
}

double DebyeBasis::conductivity(double unknown) const noexcept
{
  return unknown * vacuum_permittivity * omega_mid_;
}

RelativeFit least_squares_fit(const DebyeBasis& basis, std::span<const Complex> targets,
                              std::span<const double> weights)
{
  RelativeFit fit;
  fit.unknowns =
      non_negative_least_squares(reduce(weighted_rows(basis, targets, weights)));
  measure(basis, targets, fit);
  return fit;
}

RelativeFit least_maximum_fit(const DebyeBasis& basis, std::span<const Complex> targets)
{
  constexpr int rounds = 40;
  constexpr double rounding = 1e-13;    // an exact fit: its errors are noise
  constexpr double good_enough = 1.01;  // of the lower bound

  std::vector<double> weights(targets.size(), 1.0 / static_cast<double>(targets.size()));
  RelativeFit best = least_squares_fit(basis, targets, weights);
  RelativeFit fit = best;
  double bound = 0.0;
  for (int round = 0; round < rounds && best.worst > rounding; ++round) {
    bound = std::max(bound, reweight(fit.errors, weights));
    if (best.worst <= good_enough * bound) {
      break;
    }
    fit = least_squares_fit(basis, targets, weights);
    if (fit.worst < best.worst) {
      best = fit;
    }
  }
  return best;
}

}  // namespace torsowave::materials
