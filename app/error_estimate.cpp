#include "app/error_estimate.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "app/path_model.hpp"
#include "materials/constants.hpp"
#include "postproc/uncertainty.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/medium.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using Permittivities = std::vector<Complex>;  ///< by tissue of the plan

constexpr double tissue_spread = 0.10;
constexpr int places_in_cell = 4;

/// dB of power in a relative change of amplitude.
[[nodiscard]] double amplitude_db(double relative)
{
  return 20.0 * std::log10(1.0 + std::abs(relative));
}

/// |a/b| in dB; 0 where there is no such power.
[[nodiscard]] double change_db(double a, double b)
{
  return a > 0.0 && b > 0.0 ? std::abs(10.0 * std::log10(a / b)) : 0.0;
}

template <class Get>
[[nodiscard]] Permittivities permittivities(const RunPlan& plan, Get get)
{
  Permittivities result;
  for (std::size_t t = 0; t < plan.tissues.size(); ++t) {
    result.push_back(materials::is_conductor(plan.tissues[t]) ? Complex(1.0) : get(t));
  }
  return result;
}

[[nodiscard]] Permittivities own_models(const RunPlan& plan, double frequency)
{
  return permittivities(plan, [&](std::size_t t) {
    return materials::relative_permittivity(plan.tissues[t], frequency);
  });
}

[[nodiscard]] Permittivities fitted_media(const RunPlan& plan, double frequency)
{
  return permittivities(plan, [&](std::size_t t) {
    return materials::relative_permittivity(
        plan.fitted.media[t], plan.fitted.relaxation_times, frequency);
  });
}

/// As the stepper has them.
[[nodiscard]] Permittivities stepped_media(const RunPlan& plan, double frequency)
{
  return permittivities(plan, [&](std::size_t t) {
    const materials::FittedMedium& medium = plan.stepped.media[t];
    return solver::discrete_permittivity(
        {false, medium.eps_inf, medium.conductivity, medium.strengths},
        plan.stepped.relaxation_times, frequency, plan.grid.time_step);
  });
}

/// Those that carry a wave along a row of cells as `eps` does in space.
[[nodiscard]] Permittivities exact_along_row(const RunPlan& plan,
                                             const Permittivities& eps, double frequency)
{
  return permittivities(plan, [&](std::size_t t) {
    return solver::grid_permittivity(eps[t], frequency, plan.grid.raster.cell,
                                     plan.grid.time_step, 1);
  });
}

/// Exponent n of the factor |k|^n that the power of a filament has over that of a sheet.
///
/// The far field E of 1 A of line current, and that of a dipole of 1 A m/m, goes as
/// w mu0/sqrt(k), that of 1 V of magnetic line as sqrt(k), and the field of a sheet of
/// 1 A/m is w mu0/(2 k): the ratios go as k^(1/2) and k^(3/2).
[[nodiscard]] double filament_exponent(const RunPlan& plan)
{
  switch (plan.scenario.implant->source) {
    case scenarios::SourceKind::magnetic_line:
      return 3.0;
    case scenarios::SourceKind::current_sheet:
      return 0.0;
    default:
      return 1.0;
  }
}

/// The largest change of what leaves between two solutions of one stack.
[[nodiscard]] double leaving_change_db(PathKind kind, const PathPowers& a,
                                       const PathPowers& b)
{
  switch (kind) {
    case PathKind::way_out:
      return change_db(a.last, b.last);
    case PathKind::outside:
      return change_db(a.first + a.last, b.first + b.last);
    case PathKind::shadow:
      // A large body scatters what it reflects and, behind it, as much again as it takes
      // out of the wave: 1 + R per area of its cross-section, absorbing the rest (the
      // extinction paradox: H. C. van de Hulst, *Light Scattering by Small Particles*,
      // section 8.22, from memory).
      return std::max(change_db(a.heat(), b.heat()),
                      change_db(1.0 + a.first, 1.0 + b.first));
    default:
      return std::max(change_db(a.first, b.first), change_db(a.last, b.last));
  }
}

/// Everything for one frequency.
class Estimate {
public:
  Estimate(const RunPlan& plan, const PathStack& stack, double frequency)
      : plan_(plan),
        stack_(stack),
        frequency_(frequency),
        own_(own_models(plan, frequency)),
        fitted_(fitted_media(plan, frequency))
  {
  }

  [[nodiscard]] PathPowers exact(const Permittivities& eps) const
  {
    PathPowers powers = exact_powers(plan_, stack_, eps, frequency_);
    if (stack_.kind == PathKind::way_out) {
      const double about = std::abs(eps[stack_.tissues.front()]);
      powers.last *= std::pow(about, 0.5 * filament_exponent(plan_));
    }
    return powers;
  }
  [[nodiscard]] PathPowers own() const { return exact(own_); }
  [[nodiscard]] PathPowers fitted() const { return exact(fitted_); }

  /// Mode 1D.
  [[nodiscard]] PathPowers stepped() const
  {
    return grid_powers(plan_, stack_, stepped_media(plan_, frequency_), about(fitted_),
                       frequency_);
  }

  [[nodiscard]] double grid_db() const
  {
    if (stack_.kind == PathKind::layers) {
      return leaving_change_db(stack_.kind, stepped(), fitted());
    }
    const bool way_out = stack_.kind == PathKind::way_out;
    return interfaces_db() + (way_out ? attenuation_db() + source_db() : 0.0);
  }

  [[nodiscard]] double tissue_data_db() const
  {
    const PathPowers middle = own();
    double sum = 0.0;
    for (std::size_t t = 0; t < plan_.tissues.size(); ++t) {
      if (!std::holds_alternative<materials::ColeCole>(plan_.tissues[t].model)) {
        continue;  // what the scenario states is taken at its word
      }
      for (const bool real : {true, false}) {
        Permittivities eps = own_;
        eps[t] = real ? Complex(eps[t].real() * (1.0 + tissue_spread), eps[t].imag())
                      : Complex(eps[t].real(), eps[t].imag() * (1.0 + tissue_spread));
        const double change = leaving_change_db(stack_.kind, exact(eps), middle);
        sum += change * change;
      }
    }
    return std::sqrt(sum);
  }

private:
  [[nodiscard]] Complex about(const Permittivities& eps) const
  {
    if (!stack_.sheet) {
      return {};
    }
    std::size_t medium = 0;
    double face = 0.0;
    while (medium + 1 < stack_.tissues.size() && *stack_.sheet >= face) {
      face += medium < stack_.thickness.size() ? stack_.thickness[medium] : HUGE_VAL;
      ++medium;
    }
    return eps[stack_.tissues[medium]];
  }

  [[nodiscard]] double interfaces_db() const
  {
    const Permittivities cells = exact_along_row(plan_, fitted_, frequency_);
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
      worst = std::max(
          worst,
          leaving_change_db(
              stack_.kind,
              grid_powers(plan_, moved, cells, about(fitted_), frequency_),
              exact_powers(plan_, moved, fitted_, frequency_)));
    }
    return worst;
  }

  [[nodiscard]] double attenuation_db() const
  {
    const Permittivities stepped = stepped_media(plan_, frequency_);
    double sum = 0.0;
    for (std::size_t n = 0; n < stack_.thickness.size(); ++n) {
      const std::size_t tissue = stack_.tissues[n + 1];
      const double k0 = materials::two_pi * frequency_ / materials::speed_of_light;
      const Complex k = k0 * std::sqrt(fitted_[tissue]);
      double worst = 0.0;
      for (const double angle : {0.0, 0.25 * std::numbers::pi}) {
        const Complex found = solver::numerical_wavenumber(plan_.grid, angle, frequency_,
                                                           stepped[tissue]);
        worst = std::max(worst, std::abs((found - k).imag()));
      }
      sum += 20.0 * std::numbers::log10e * worst * stack_.thickness[n];
    }
    return sum;
  }

  [[nodiscard]] double source_db() const
  {
    const double z2 = std::norm(plan_.grid.raster.cell * materials::two_pi * frequency_ /
                                materials::speed_of_light) *
                      std::abs(fitted_[stack_.tissues.front()]);
    const bool dipole =
        plan_.scenario.implant->source == scenarios::SourceKind::dipole;
    return amplitude_db(z2 * (7.0 / 192.0 + (dipole ? 1.0 / 24.0 : 0.0)));
  }

  const RunPlan& plan_;
  const PathStack& stack_;
  double frequency_;
  Permittivities own_;
  Permittivities fitted_;
};

/// Shares of a sheet's power are of what it delivers.
[[nodiscard]] postproc::LayerErrors layer_errors(const RunPlan& plan, PathPowers a,
                                                 PathPowers b)
{
  if (plan.scenario.incident && plan.scenario.incident->angle != 0.0) {
    std::ranges::reverse(a.absorbed);  // the stack is seen from where the wave comes
    std::ranges::reverse(b.absorbed);
  }
  const auto change = [&](double of_a, double of_b) {
    return change_db(of_a / a.delivered, of_b / b.delivered);
  };
  postproc::LayerErrors errors;
  (plan.scenario.implant ? errors.into_first : errors.reflectance) =
      change(a.first, b.first);
  (plan.scenario.implant ? errors.into_last : errors.transmittance) =
      change(a.last, b.last);
  for (std::size_t n = 0; n < a.absorbed.size(); ++n) {
    errors.absorbed_by_layer.push_back(change(a.absorbed[n], b.absorbed[n]));
  }
  return errors;
}

}  // namespace

void add_error_estimates(const RunPlan& plan, postproc::Result& result)
{
  const std::optional<PathStack> stack = path_stack(plan);
  if (!stack) {
    return;
  }
  for (postproc::FrequencyResult& at : result.frequencies) {
    const Estimate estimate(plan, *stack, at.frequency);
    at.uncertainty_db["fit"] =
        leaving_change_db(stack->kind, estimate.fitted(), estimate.own());
    at.uncertainty_db["grid"] = estimate.grid_db();
    at.uncertainty_db[postproc::tissue_data_item] = estimate.tissue_data_db();
    if (at.slab) {
      at.slab->fit_error = layer_errors(plan, estimate.fitted(), estimate.own());
      at.slab->grid_error = layer_errors(plan, estimate.stepped(), estimate.fitted());
    }
  }
}

}  // namespace torsowave::app
