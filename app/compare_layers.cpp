#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <utility>

#include "app/compare_model.hpp"
#include "app/grid_case.hpp"
#include "app/slab_model.hpp"

namespace torsowave::app {
namespace {

using postproc::ComparedQuantity;
using postproc::CompareResult;
using postproc::SlabCase;

/// A model's answers, by frequency.
using Cases = std::vector<SlabCase>;

/// The run in the form of an exact answer. Shares under a plane wave are of the incident
/// power at the face, as the grid has it: in a lossless medium that is what the run takes
/// from the wave, in a lossy one it is not.
[[nodiscard]] SlabCase run_case(const RunPlan& plan, const postproc::FrequencyResult& at,
                                const SlabCase& on_grid)
{
  const postproc::LayerResponse& response = *at.slab;
  SlabCase result;
  result.source_flux = plan.scenario.incident ? on_grid.source_flux : at.source_power;
  const double scale = at.source_power / result.source_flux;
  result.absorbed = response.absorbed_by_layer;
  for (double& share : result.absorbed) {
    share *= scale;
  }
  if (plan.scenario.incident) {
    result.reflection = *response.reflection;
    result.reflectance = *response.reflectance;
    result.transmittance = *response.transmittance * scale;
  } else {
    result.reflectance = *response.into_first;
    result.transmittance = *response.into_last;
  }
  return result;
}

/// Cole-Cole, Debye, Debye on the grid, run.
[[nodiscard]] std::vector<Cases> solve_all(const RunPlan& plan,
                                           const postproc::Result& run)
{
  const StackMedia media(plan.tissues, plan.fitted);
  SlabRequest request;
  request.frequencies = plan.scenario.frequencies;
  request.models = {MediaModel::cole_cole, MediaModel::debye};
  const postproc::SlabResult exact = solve_slab(plan.scenario, media, request);
  std::vector<Cases> all(4);
  for (std::size_t f = 0; f < request.frequencies.size(); ++f) {
    all[0].push_back(exact.at(0, 0, 0, f));
    all[1].push_back(exact.at(1, 0, 0, f));
    all[2].push_back(grid_case(plan, request.frequencies[f]));
    all[3].push_back(run_case(plan, run.frequencies[f], all[2].back()));
  }
  return all;
}

/// How to read a quantity off a case.
struct Reading {
  std::string key;
  std::string name;
  double (*value)(const SlabCase&, std::size_t layer);
  std::size_t layer = 0;
  bool phase = false;  ///< that of the reflection
};

[[nodiscard]] std::vector<Reading> readings(const RunPlan& plan)
{
  const scenarios::LayerStack& stack = *plan.stack;
  const bool wave = plan.scenario.incident.has_value();
  const bool to_right = !wave || plan.scenario.incident->angle == 0.0;
  const auto first = [](const SlabCase& at, std::size_t) { return at.reflectance; };
  const auto last = [](const SlabCase& at, std::size_t) { return at.transmittance; };
  std::vector<Reading> all;
  // Nothing goes into a perfect conductor.
  const auto takes_power = [&](const std::string& tissue) {
    const auto at = std::ranges::find(plan.tissues, tissue, &materials::Tissue::name);
    return at != plan.tissues.end() && !materials::is_conductor(*at);
  };
  if (wave) {
    all.push_back({"reflectance", "reflected", first, 0, true});
  } else {
    all.push_back(
        {"delivered", "delivered", [](const SlabCase&, std::size_t) { return 1.0; }});
    if (takes_power(stack.first)) {
      all.push_back({"into_first", fmt::format("into {} (left)", stack.first), first});
    }
  }
  for (std::size_t i = 0; i < stack.slabs.size(); ++i) {
    all.push_back(
        {fmt::format("absorbed_{}_{}", i + 1, stack.slabs[i].tissue),
         "absorbed in " + stack.slabs[i].tissue,
         [](const SlabCase& at, std::size_t layer) { return at.absorbed[layer]; }, i});
  }
  const std::string& behind = to_right ? stack.last : stack.first;
  if (takes_power(behind)) {
    all.push_back({wave ? "transmittance" : "into_last",
                   wave ? "into " + behind : fmt::format("into {} (right)", behind),
                   last});
  }
  return all;
}

[[nodiscard]] double degrees(std::complex<double> value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

/// Shares under a plane wave, powers of a sheet.
[[nodiscard]] ComparedQuantity quantity_of(const Reading& reading,
                                           const std::vector<Cases>& all, bool wave)
{
  ComparedQuantity quantity{reading.key, reading.name, wave ? "1" : "W/m2", false, {}, {},
                            {}};
  for (const Cases& cases : all) {
    std::vector<double>& values = quantity.values.emplace_back();
    for (const SlabCase& at : cases) {
      values.push_back(reading.value(at, reading.layer) * (wave ? 1.0 : at.source_flux));
    }
    if (reading.phase) {
      std::vector<double>& phases = quantity.phases_deg.emplace_back();
      for (const SlabCase& at : cases) {
        phases.push_back(degrees(at.reflection));
      }
    }
  }
  for (const SlabCase& at : all.front()) {
    quantity.reference.push_back(wave ? 1.0 : at.source_flux);
  }
  return quantity;
}

}  // namespace

CompareResult compare_layers(const RunPlan& plan, const postproc::Result& run)
{
  CompareResult result = describe_comparison(plan, run);
  result.exact = "planar layers";
  result.models = {"cole-cole", "debye", "grid", "run"};
  result.parts = {"fit", "grid", "rest"};
  const scenarios::LayerStack& stack = *plan.stack;
  result.bodies.push_back(stack.first);
  for (const scenarios::Slab& slab : stack.slabs) {
    result.bodies.push_back(
        fmt::format("{} {:.4g} mm", slab.tissue, 1e3 * (slab.to - slab.from)));
  }
  result.bodies.push_back(stack.last);
  const std::vector<Cases> all = solve_all(plan, run);
  for (const Reading& reading : readings(plan)) {
    result.quantities.push_back(
        quantity_of(reading, all, plan.scenario.incident.has_value()));
  }
  return result;
}

}  // namespace torsowave::app
