#include "app/path_estimate.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "app/source_estimate.hpp"
#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;

constexpr double tissue_spread = 0.10;
constexpr int places_in_cell = 4;

/// dB of power in a small relative change of amplitude, or in a phase where waves
/// interfere.
[[nodiscard]] double amplitude_db(double relative)
{
  return 20.0 * std::log10(1.0 + relative);
}

/// The exponent n of the factor |k|^n that the power of a filament has over that of a
/// sheet.
///
/// The far field E of 1 A of line current, and that of a dipole of 1 A m/m, goes as
/// w mu0/sqrt(k), that of 1 V of magnetic line as sqrt(k), and the field of a sheet of
/// 1 A/m is w mu0/(2 k): the ratios go as k^(1/2) and k^(3/2).
[[nodiscard]] double filament_exponent(const RunPlan& plan)
{
  return plan.scenario.implant->source == scenarios::SourceKind::magnetic_line ? 3.0
                                                                               : 1.0;
}

/// Permittivity at the sheet of a stack.
[[nodiscard]] Complex at_sheet(const PathStack& stack, const Permittivities& eps)
{
  if (!stack.sheet) {
    return {};
  }
  std::size_t medium = 0;
  double face = 0.0;
  while (medium <= stack.thickness.size() && *stack.sheet >= face) {
    face += medium < stack.thickness.size() ? stack.thickness[medium] : 0.0;
    ++medium;
  }
  return eps[stack.tissues[medium]];
}

}  // namespace

double power_change_db(double a, double b)
{
  return a > 0.0 && b > 0.0 ? std::abs(10.0 * std::log10(a / b)) : 0.0;
}

PathEstimate::PathEstimate(const RunPlan& plan, const PathStack& stack, double frequency)
    : plan_(plan),
      stack_(stack),
      frequency_(frequency),
      own_(own_media(plan, frequency)),
      fitted_(fitted_media(plan, frequency)),
      at_source_(at_sheet(stack, fitted_))
{
}

PathPowers PathEstimate::exact(const Permittivities& eps) const
{
  PathPowers powers = exact_powers(plan_, stack_, eps, frequency_);
  if (stack_.kind == PathKind::way_out) {
    powers.last *=
        std::pow(std::abs(eps[stack_.tissues.front()]), 0.5 * filament_exponent(plan_));
  }
  return powers;
}

PathPowers PathEstimate::on_cells() const
{
  return grid_powers(plan_, stack_, stepped_media(plan_, frequency_), at_source_,
                     frequency_);
}

double PathEstimate::change_db(const PathPowers& a, const PathPowers& b) const
{
  switch (stack_.kind) {
    case PathKind::way_out:
      return power_change_db(a.last, b.last);
    case PathKind::outside:
      return power_change_db(a.first + a.last, b.first + b.last);
    case PathKind::shadow:
      // A large body scatters what it reflects and, behind it, as much as meets its
      // cross-section: 1 + R (the extinction paradox: H. C. van de Hulst, *Light
      // Scattering by Small Particles*, 1957, section 8.22, from memory).
      return std::max(power_change_db(a.heat(), b.heat()),
                      power_change_db(1.0 + a.first, 1.0 + b.first));
    default:
      return std::max(power_change_db(a.first, b.first), power_change_db(a.last, b.last));
  }
}

Complex PathEstimate::wavenumber(Complex eps) const
{
  return materials::two_pi * frequency_ / materials::speed_of_light * std::sqrt(eps);
}

double PathEstimate::fit_db() const
{
  if (stack_.kind == PathKind::layers) {
    return change_db(fitted(), own());
  }
  const PathPowers middle = own();
  double sum = 0.0;
  double largest = 0.0;
  Permittivities change_of_k;
  for (std::size_t t = 0; t < own_.size(); ++t) {
    Permittivities real = own_;
    real[t] = {fitted_[t].real(), own_[t].imag()};
    Permittivities imaginary = own_;
    imaginary[t] = {own_[t].real(), fitted_[t].imag()};
    sum += change_db(exact(real), middle) + change_db(exact(imaginary), middle);
    if (std::ranges::count(stack_.tissues, t) > 0) {
      largest = std::max(largest, std::abs(fitted_[t] / own_[t] - 1.0));
    }
    change_of_k.push_back(wavenumber(fitted_[t]) - wavenumber(own_[t]));
  }
  return sum + 10.0 * std::log10(1.0 + largest) + interference_db(change_of_k);
}

double PathEstimate::interference_db(const Permittivities& change_of_k) const
{
  if (stack_.thickness.empty()) {
    return 0.0;
  }
  // A source's own tissue rules its phases; a plane wave meets all tissues on its way.
  const bool way_out = stack_.kind == PathKind::way_out;
  const double depth = way_out ? stack_.thickness.front() : stack_.depth();
  double attenuation = 0.0;
  double change = 0.0;
  for (std::size_t n = 0; n < (way_out ? 1 : stack_.thickness.size()); ++n) {
    const std::size_t tissue = stack_.tissues[n + 1];
    const double share = stack_.thickness[n] / depth;
    attenuation -= share * wavenumber(own_[tissue]).imag();
    change += share * std::abs(change_of_k[tissue]);
  }
  const double length =
      std::max(way_out ? stack_.depth() : 0.0, std::min(plan_.extent, 1.0 / attenuation));
  return amplitude_db(change * length);
}

Permittivities PathEstimate::grid_dispersion() const
{
  const Permittivities stepped = stepped_media(plan_, frequency_);
  Permittivities result(own_.size());
  for (std::size_t t = 0; t < own_.size(); ++t) {
    for (const double angle : {0.0, 0.25 * std::numbers::pi}) {
      const Complex change =
          solver::numerical_wavenumber(plan_.grid, angle, frequency_, stepped[t],
                                       plan_.stencil_in(t)) -
          wavenumber(fitted_[t]);
      result[t] = {std::max(result[t].real(), std::abs(change.real())),
                   std::max(result[t].imag(), std::abs(change.imag()))};
    }
  }
  return result;
}

template <class Measure>
double PathEstimate::interfaces_db(Measure measure) const
{
  const Permittivities cells = exact_on_row(plan_, fitted_, frequency_);
  double worst = 0.0;
  for (int n = 0; n < places_in_cell; ++n) {
    const double shift = plan_.grid.raster.cell * n / places_in_cell;
    PathStack moved = stack_;
    if (stack_.kind == PathKind::way_out && !moved.thickness.empty()) {
      moved.thickness.front() += shift;
    } else {
      moved.edge -= shift;
      moved.sheet = stack_.sheet ? std::optional(*stack_.sheet - shift) : std::nullopt;
    }
    worst =
        std::max(worst, measure(grid_powers(plan_, moved, cells, at_source_, frequency_),
                                exact_powers(plan_, moved, fitted_, frequency_)));
  }
  return worst;
}

double PathEstimate::delivered_db() const
{
  return interfaces_db([](const PathPowers& found, const PathPowers& exact) {
    return power_change_db(found.delivered, exact.delivered);
  });
}

double PathEstimate::grid_db() const
{
  if (stack_.kind == PathKind::layers) {
    return change_db(on_cells(), fitted());
  }
  const double cell = plan_.grid.raster.cell;
  const Permittivities dispersion = grid_dispersion();
  double sum = interfaces_db([this](const PathPowers& found, const PathPowers& exact) {
    return change_db(found, exact);
  });
  if (stack_.kind == PathKind::way_out) {
    sum +=
        attenuation_db(dispersion) + source_anisotropy_db(plan_, at_source_, frequency_);
    if (!stack_.thickness.empty()) {
      sum += near_face_db(plan_, stack_.thickness.front());
    }
  } else {
    sum += interference_db(dispersion);
  }
  const double moved = face_displacement(plan_) * cell;
  return sum + faces_db(moved) + capsule_db(plan_) +
         scaling_db(std::max(moved, 0.1 * cell * cell / plan_.extent), plan_.extent);
}

double PathEstimate::attenuation_db(const Permittivities& change_of_k) const
{
  double nepers = 0.0;
  for (std::size_t n = 0; n < stack_.thickness.size(); ++n) {
    nepers += std::abs(change_of_k[stack_.tissues[n + 1]].imag()) * stack_.thickness[n];
  }
  return 20.0 * std::numbers::log10e * nepers;
}

double PathEstimate::faces_db(double displacement) const
{
  const PathPowers middle = exact_powers(plan_, stack_, fitted_, frequency_);
  double sum = 0.0;
  // The first face of a way out is the place of the source, not one between tissues.
  for (std::size_t face = stack_.kind == PathKind::way_out ? 1 : 0;
       face <= stack_.thickness.size() && displacement > 0.0; ++face) {
    double room = displacement;
    const auto consider = [&](std::size_t layer) {
      room = std::min(room, 0.5 * stack_.thickness[layer]);
    };
    if (face > 0) {
      consider(face - 1);
    }
    if (face < stack_.thickness.size()) {
      consider(face);
    }
    double worst = 0.0;
    for (const double shift : {-room, room}) {
      PathStack moved = stack_;
      if (face > 0) {
        moved.thickness[face - 1] += shift;
      }
      if (face < stack_.thickness.size()) {
        moved.thickness[face] -= shift;
      }
      worst = std::max(
          worst, change_db(exact_powers(plan_, moved, fitted_, frequency_), middle));
    }
    sum += worst * displacement / room;
  }
  return sum;
}

double PathEstimate::tissue_data_db() const
{
  const PathPowers middle = own();
  double squares = 0.0;
  for (std::size_t t = 0; t < own_.size(); ++t) {
    if (!std::holds_alternative<materials::ColeCole>(plan_.tissues[t].model)) {
      continue;  // what the scenario states is taken at its word
    }
    for (const bool real : {true, false}) {
      Permittivities eps = own_;
      eps[t] += real ? Complex(tissue_spread * eps[t].real(), 0.0)
                     : Complex(0.0, tissue_spread * eps[t].imag());
      const double change = change_db(exact(eps), middle);
      squares += change * change;
    }
  }
  return std::sqrt(squares);
}

}  // namespace torsowave::app
