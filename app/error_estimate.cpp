#include "app/error_estimate.hpp"

#include <algorithm>
#include <cmath>

#include "app/path_estimate.hpp"
#include "app/source_estimate.hpp"
#include "postproc/uncertainty.hpp"

namespace torsowave::app {
namespace {

/// Of every figure of mode 1D. Shares of a sheet's power are of what it delivers.
[[nodiscard]] postproc::LayerErrors layer_errors(const RunPlan& plan, PathPowers a,
                                                 PathPowers b)
{
  if (plan.scenario.incident && plan.scenario.incident->angle != 0.0) {
    std::ranges::reverse(a.absorbed);  // the stack is seen from where the wave comes
    std::ranges::reverse(b.absorbed);
  }
  const auto change = [&](double of_a, double of_b) {
    return power_change_db(of_a / a.delivered, of_b / b.delivered);
  };
  postproc::LayerErrors errors;
  const bool sheet = plan.scenario.implant.has_value();
  (sheet ? errors.into_first : errors.reflectance) = change(a.first, b.first);
  (sheet ? errors.into_last : errors.transmittance) = change(a.last, b.last);
  for (std::size_t n = 0; n < a.absorbed.size(); ++n) {
    errors.absorbed_by_layer.push_back(change(a.absorbed[n], b.absorbed[n]));
  }
  return errors;
}

[[nodiscard]] std::vector<std::string> notes_of(const RunPlan& plan, bool has_path)
{
  std::vector<std::string> notes;
  if (!plan.one_d()) {
    notes.emplace_back(
        has_path
            ? "fit, grid and tissue_data are estimates from planar layers along a "
              "straight way through the body; --refine measures the grid error"
            : "the body fills the domain: no way out to estimate fit and grid errors on");
    notes.emplace_back(
        "the slice goes on unchanged along the body: what that costs is not in any item");
  }
  if (plan.is_tez() && plan.scenario.implant && source_in_losses(plan)) {
    notes.emplace_back(
        "the power that a point-like source delivers in TEz to a medium with losses has "
        "no limit for small cells: levels relative to it hold for this cell size alone; "
        "give the implant a lossless capsule");
  }
  return notes;
}

/// What the absorbing layer sends back, in amplitude, as dB of a power.
///
/// Measured for 12 cells: -94.7 dB at worst (docs/validation.md, "Absorbing boundary");
/// its attenuation in dB goes as its thickness.
[[nodiscard]] double absorber_db(const RunPlan& plan)
{
  constexpr int measured_cells = 12;
  constexpr double measured_db = -94.7;
  const int cells = std::min(plan.grid.absorbing_cells, measured_cells);
  return 20.0 *
         std::log10(1.0 + std::pow(10.0, measured_db * cells / (20.0 * measured_cells)));
}

}  // namespace

void add_error_estimates(const RunPlan& plan, postproc::Result& result)
{
  const std::optional<PathStack> stack = path_stack(plan);
  const std::vector<std::string> notes = notes_of(plan, stack.has_value());
  result.notes.insert(result.notes.begin(), notes.begin(), notes.end());
  for (postproc::FrequencyResult& at : result.frequencies) {
    at.uncertainty_db["absorber"] = absorber_db(plan);
    if (!stack) {
      continue;
    }
    const PathEstimate estimate(plan, *stack, at.frequency);
    at.uncertainty_db["fit"] = estimate.fit_db();
    at.uncertainty_db["grid"] = estimate.grid_db();
    at.uncertainty_db[postproc::tissue_data_item] = estimate.tissue_data_db();
    if (plan.scenario.implant && !plan.one_d()) {
      const auto error = delivered_error_db(plan, at.frequency, at.source_power);
      if (error) {
        at.grid_error_db["source"] = *error + estimate.delivered_db();
      }
    }
    if (at.slab) {
      at.slab->fit_error = layer_errors(plan, estimate.fitted(), estimate.own());
      at.slab->grid_error = layer_errors(plan, estimate.on_cells(), estimate.fitted());
    }
  }
}

}  // namespace torsowave::app
