#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <map>
#include <numbers>
#include <optional>
#include <utility>

#include "app/compare_model.hpp"
#include "app/place_in_grid.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using postproc::ComparedQuantity;
using postproc::CompareResult;
using solver::cylinder::Powers;
using solver::cylinder::Solution;

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr int fewest_angles = 72;
constexpr double field_floor_db = -30.0;  ///< below the largest at its frequency
constexpr double fewest_cells = 3.0;      ///< between the body and the contour

/// A cell on the circle.
struct Place {
  std::size_t cell = 0;
  geometry::Point centre;
  double angle_deg = 0.0;  ///< of its centre, near that of the point, rising
};

/// Distance from the body's centre to the nearest edge of the contour that powers are
/// counted on [m].
[[nodiscard]] double contour_distance(const RunPlan& plan, geometry::Point centre)
{
  const geometry::Raster& raster = plan.grid.raster;
  const geometry::Contour& contour = plan.inflow ? *plan.inflow : plan.radiation;
  double least = std::numeric_limits<double>::infinity();
  for (const geometry::ContourEdge& edge : contour.edges) {
    const double x = raster.x(edge.i) + 0.5 * edge.di * raster.cell - centre.x;
    const double y = raster.y(edge.j) + 0.5 * edge.dj * raster.cell - centre.y;
    least = std::min(least, std::hypot(x, y));
  }
  return least;
}

[[nodiscard]] std::vector<Place> places_on(const RunPlan& plan, geometry::Point centre,
                                           double radius, int count)
{
  const geometry::Raster& raster = plan.grid.raster;
  std::vector<Place> places;
  for (int n = 0; n < count; ++n) {
    const double angle = 2.0 * std::numbers::pi * n / count;
    const double x = centre.x + radius * std::cos(angle);
    const double y = centre.y + radius * std::sin(angle);
    const auto i = static_cast<int>(std::floor((x - raster.corner.x) / raster.cell));
    const auto j = static_cast<int>(std::floor((y - raster.corner.y) / raster.cell));
    const double off =
        std::remainder(std::atan2(raster.y(j) - centre.y, raster.x(i) - centre.x) - angle,
                       2.0 * std::numbers::pi);
    places.push_back({raster.at(i, j),
                      {raster.x(i), raster.y(j)},
                      (angle + off) * 180.0 / std::numbers::pi});
  }
  return places;
}

[[nodiscard]] double degrees(Complex value)
{
  return std::arg(value) * 180.0 / std::numbers::pi;
}

/// Adds the fields of one frequency, by model.
void add_fields(const std::vector<std::vector<Complex>>& fields,
                ComparedQuantity& quantity)
{
  double largest = 0.0;
  for (std::size_t m = 0; m < fields.size(); ++m) {
    for (const Complex& field : fields[m]) {
      quantity.values[m].push_back(std::abs(field));
      quantity.phases_deg[m].push_back(degrees(field));
      largest = m == 0 ? std::max(largest, std::abs(field)) : largest;
    }
  }
  quantity.reference.insert(quantity.reference.end(), fields.front().size(), largest);
}

/// Total power of each tissue; not defined where it is not in one of its rings.
[[nodiscard]] std::map<std::string, double> by_tissue(const ConcentricBody& body,
                                                      const Powers& powers)
{
  std::map<std::string, double> result;
  // A conductor is the innermost ring and no layer of the series.
  const std::size_t skipped = body.rings.size() - powers.absorbed.size();
  for (std::size_t m = 0; m < powers.absorbed.size(); ++m) {
    result[body.rings[m + skipped].tissue] += powers.absorbed[m].value_or(missing);
  }
  return result;
}

/// The powers of one model at one frequency, by name.
struct NamedPowers {
  double taken = missing;  ///< delivered, or taken from the plane wave
  double away = missing;   ///< radiated, or scattered
  std::map<std::string, double> absorbed;
};

[[nodiscard]] NamedPowers exact_powers(const RunPlan& plan, const ConcentricBody& body,
                                       const Powers& powers)
{
  const bool wave = plan.scenario.incident.has_value();
  return {(wave ? powers.extinguished : powers.delivered).value_or(missing),
          (wave ? powers.scattered : powers.radiated).value_or(missing),
          by_tissue(body, powers)};
}

/// Everything of all frequencies, by model.
struct Answers {
  ComparedQuantity field;
  std::vector<std::vector<NamedPowers>> powers;
};

[[nodiscard]] Answers solve_all(const RunPlan& plan, const ConcentricBody& body,
                                const postproc::Result& run,
                                const std::vector<Place>& places)
{
  const std::string name = plan.centre_field();
  Answers all{{name, "|" + name + "|", name[0] == 'E' ? "V/m" : "A/m", true, {}, {}, {}},
              std::vector<std::vector<NamedPowers>>(3)};
  all.field.values.resize(3);
  all.field.phases_deg.resize(3);
  all.field.counts_above_db = field_floor_db;
  const std::size_t cells = plan.grid.raster.size();
  for (std::size_t f = 0; f < plan.scenario.frequencies.size(); ++f) {
    std::vector<std::vector<Complex>> fields(3);
    for (const RingMedia media : {RingMedia::own, RingMedia::fitted}) {
      const std::size_t m = media == RingMedia::own ? 0 : 1;
      const Solution exact =
          exact_cylinder(plan, body, media, plan.scenario.frequencies[f]);
      for (const Place& place : places) {
        fields[m].push_back(exact.at(place.centre).z);
      }
      all.powers[m].push_back(exact_powers(plan, body, exact.powers()));
    }
    for (const Place& place : places) {
      fields[2].emplace_back(run.phasors.front().values.at(f * cells + place.cell));
    }
    const postproc::FrequencyResult& at = run.frequencies[f];
    all.powers[2].push_back({at.source_power, at.radiated_power, at.absorbed_by_tissue});
    add_fields(fields, all.field);
  }
  return all;
}

/// A power by frequency and model, if the exact answer has it.
/// \param reference  what its level is counted from
template <class Get, class Reference>
void add_power(const Answers& all, const std::string& key, const std::string& name,
               const Get& get, const Reference& reference, CompareResult& result)
{
  ComparedQuantity quantity{key, name, "W/m", false, {}, {}, {}};
  for (const std::vector<NamedPowers>& model : all.powers) {
    std::vector<double>& values = quantity.values.emplace_back();
    for (const NamedPowers& powers : model) {
      values.push_back(get(powers));
    }
  }
  for (const NamedPowers& powers : all.powers.front()) {
    quantity.reference.push_back(reference(powers));
  }
  const auto defined = [](double value) { return std::isfinite(value); };
  if (std::ranges::any_of(quantity.values.front(), defined)) {
    result.quantities.push_back(std::move(quantity));
  } else {
    result.left_out.push_back(fmt::format(
        "{}: the exact answer does not have it, since the loss around a point "
        "source in a lossy medium has no finite limit",
        name));
  }
}

void add_powers(const RunPlan& plan, const ConcentricBody& body, const Answers& all,
                CompareResult& result)
{
  const bool wave = plan.scenario.incident.has_value();
  const auto taken = [](const NamedPowers& p) { return p.taken; };
  const auto away = [](const NamedPowers& p) { return p.away; };
  add_power(all, wave ? "taken" : "delivered", wave ? "taken from the wave" : "delivered",
            taken, taken, result);
  add_power(all, wave ? "scattered" : "radiated", wave ? "scattered" : "radiated", away,
            away, result);
  // Levels of absorbed powers are counted from all that is known to be taken.
  const auto whole = [](const NamedPowers& p) {
    double sum = std::isfinite(p.away) ? p.away : 0.0;
    for (const auto& [tissue, power] : p.absorbed) {
      sum += std::isfinite(power) ? power : 0.0;
    }
    return std::isfinite(p.taken) ? p.taken : sum;
  };
  std::vector<std::string> named;
  for (const TissueRing& ring : body.rings) {
    const std::string& tissue = ring.tissue;
    const auto exact = all.powers.front().front().absorbed.find(tissue);
    const bool lossless =
        exact == all.powers.front().front().absorbed.end() || exact->second == 0.0;
    if (lossless || std::ranges::find(named, tissue) != named.end()) {
      continue;
    }
    named.push_back(tissue);
    add_power(
        all, "absorbed_" + tissue, "absorbed in " + tissue,
        [&tissue](const NamedPowers& p) {
          const auto found = p.absorbed.find(tissue);
          return found == p.absorbed.end() ? missing : found->second;
        },
        whole, result);
  }
}

}  // namespace

double compared_radius(const RunPlan& plan, const ConcentricBody& body)
{
  const double outer = contour_distance(plan, body.centre);
  const double cells = (outer - body.radius()) / plan.grid.raster.cell;
  if (cells < fewest_cells) {
    refuse_key(plan.scenario, plan.scenario.grid.size ? "grid.size" : "grid.margin",
               fmt::format("leaves {:.1f} cells between the body and the contour that "
                           "powers are counted on, and \"compare\" looks at a circle "
                           "between them; write at least {:.3g} mm more",
                           std::max(0.0, cells),
                           (fewest_cells - cells) * plan.grid.raster.cell * 1e3));
  }
  return 0.5 * (body.radius() + outer);
}

CompareResult compare_cylinders(const RunPlan& plan, const ConcentricBody& body,
                                const postproc::Result& run)
{
  CompareResult result = describe_comparison(plan, run);
  result.exact = "concentric cylinders";
  result.models = {"cole-cole", "debye", "run"};
  result.parts = {"fit", "grid and rest"};
  for (const TissueRing& ring : body.rings) {
    result.bodies.push_back(
        fmt::format("{} to {:.4g} mm", ring.tissue, 1e3 * ring.outer_radius));
  }
  result.bodies.push_back(plan.scenario.body.background);
  result.circle_radius = compared_radius(plan, body);
  const std::vector<Place> places =
      places_on(plan, body.centre, result.circle_radius,
                std::max(fewest_angles, plan.scenario.outputs.sectors));
  for (const Place& place : places) {
    result.angles_deg.push_back(place.angle_deg);
  }
  Answers all = solve_all(plan, body, run, places);
  result.quantities.push_back(std::move(all.field));
  add_powers(plan, body, all, result);
  return result;
}

}  // namespace torsowave::app
