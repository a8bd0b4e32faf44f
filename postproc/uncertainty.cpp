#include "postproc/uncertainty.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace torsowave::postproc {
namespace {

/// Error of a figure against the limit of two cell sizes.
class Limit {
public:
  Limit(double ratio, double order) : ratio_(ratio), order_(order) {}

  [[nodiscard]] double error(double coarse, double fine) const
  {
    return error_db(coarse, richardson_limit(coarse, fine, ratio_, order_));
  }
  [[nodiscard]] std::optional<double> error(const std::optional<double>& coarse,
                                            const std::optional<double>& fine) const
  {
    return coarse && fine ? std::optional(error(*coarse, *fine)) : std::nullopt;
  }
  [[nodiscard]] std::vector<double> errors(const std::vector<double>& coarse,
                                           const std::vector<double>& fine) const
  {
    if (coarse.size() != fine.size()) {
      throw std::invalid_argument("two runs to compare have different figures");
    }
    std::vector<double> result;
    for (std::size_t n = 0; n < coarse.size(); ++n) {
      result.push_back(error(coarse[n], fine[n]));
    }
    return result;
  }

private:
  double ratio_;
  double order_;
};

[[nodiscard]] LayerErrors refined_layers(const Limit& limit, const LayerResponse& run,
                                         const LayerResponse& fine)
{
  return {limit.error(run.reflectance, fine.reflectance),
          limit.error(run.transmittance, fine.transmittance),
          limit.error(run.into_first, fine.into_first),
          limit.error(run.into_last, fine.into_last),
          limit.errors(run.absorbed_by_layer, fine.absorbed_by_layer)};
}

}  // namespace

CombinedUncertainty combined_uncertainty(const std::map<std::string, double>& items_db)
{
  CombinedUncertainty combined;
  double largest = -1.0;
  for (const auto& [name, db] : items_db) {
    if (name == tissue_data_item) {
      continue;
    }
    combined.db += db;
    if (db > largest) {
      largest = db;
      combined.dominant = name;
    }
  }
  return combined;
}

LayerErrors combined_layer_errors(const FrequencyResult& at)
{
  const LayerErrors& fit = at.slab->fit_error;
  const LayerErrors& grid = at.slab->grid_error;
  std::map<std::string, double> rest = at.uncertainty_db;
  rest.erase("fit");
  rest.erase("grid");
  const double others = combined_uncertainty(rest).db;
  const auto sum = [&](const std::optional<double>& a, const std::optional<double>& b) {
    return a || b ? std::optional(a.value_or(0.0) + b.value_or(0.0) + others)
                  : std::nullopt;
  };
  LayerErrors errors{sum(fit.reflectance, grid.reflectance),
                     sum(fit.transmittance, grid.transmittance),
                     sum(fit.into_first, grid.into_first),
                     sum(fit.into_last, grid.into_last), grid.absorbed_by_layer};
  for (std::size_t n = 0; n < errors.absorbed_by_layer.size(); ++n) {
    const bool known = n < fit.absorbed_by_layer.size();
    errors.absorbed_by_layer[n] += (known ? fit.absorbed_by_layer[n] : 0.0) + others;
  }
  return errors;
}

double richardson_limit(double coarse, double fine, double ratio, double order)
{
  if (!(ratio > 0.0 && ratio < 1.0 && order > 0.0)) {
    throw std::invalid_argument(
        "an extrapolation needs a ratio of cells between 0 and 1 and an order above 0");
  }
  return coarse + (fine - coarse) / (1.0 - std::pow(ratio, order));
}

double error_db(double value, double limit)
{
  if (value == limit) {
    return 0.0;
  }
  const double quotient = limit / value;
  return quotient > 0.0 ? std::abs(10.0 * std::log10(quotient))
                        : 10.0 * std::log10(1.0 + std::abs(quotient - 1.0));
}

void add_refinement(std::vector<FrequencyResult>& run,
                    const std::vector<FrequencyResult>& fine,
                    const Refinement& refinement, const RefinementScope& scope)
{
  if (run.size() != fine.size()) {
    throw std::invalid_argument("two runs to compare have different frequencies");
  }
  const Limit limit(refinement.ratio, refinement.order);
  for (std::size_t f = 0; f < run.size(); ++f) {
    FrequencyResult& at = run[f];
    std::map<std::string, double>& errors = at.grid_error_db;
    errors["source"] =
        std::max(errors["source"], limit.error(at.source_power, fine[f].source_power));
    if (scope.closed) {
      errors["absorbed"] = limit.error(at.absorbed_power, fine[f].absorbed_power);
      errors["radiated"] = limit.error(at.radiated_power, fine[f].radiated_power);
    }
    if (at.body_surface_power && fine[f].body_surface_power) {
      errors["body_surface"] =
          limit.error(*at.body_surface_power, *fine[f].body_surface_power);
    }
    at.sector_grid_error_db = limit.errors(at.sector_power, fine[f].sector_power);
    if (at.far_field && fine[f].far_field) {
      at.far_field->grid_error_db =
          limit.errors(at.far_field->intensity, fine[f].far_field->intensity);
    }
    if (at.slab && fine[f].slab) {
      at.slab->refinement_error = refined_layers(limit, *at.slab, *fine[f].slab);
    } else if (scope.closed) {
      at.uncertainty_db["grid"] = scope.plane_wave
                                      ? std::max(errors["radiated"], errors["absorbed"])
                                      : errors["radiated"];
    }
  }
}

}  // namespace torsowave::postproc
