#include "app/implant_gain.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <functional>
#include <numbers>
#include <utility>

#include "app/source_drive.hpp"
#include "postproc/antenna_gain.hpp"
#include "postproc/power_balance.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using scenarios::SourceKind;

/// Tissues by their share in the near field's heat; they add up to 1.
struct Surrounding {
  std::uint16_t tissue = 0;
  double share = 0.0;
};

/// Filling with a larger loss tangent is no capsule without losses, even nearly.
constexpr double most_loss_tangent = 0.02;

[[nodiscard]] bool has_gain(SourceKind kind)
{
  return kind == SourceKind::line_current || kind == SourceKind::dipole;
}

/// (1 + 3 cos^2 t)/r^6 along z, but for a factor. \see the head of implant_gain.hpp
[[nodiscard]] double near_field_weight(const scenarios::ImplantSpec& implant, double x,
                                       double y)
{
  const double rho = std::hypot(x, y);
  const double weight = std::pow(rho, -5.0);
  if (implant.source == SourceKind::line_current) {
    return weight;
  }
  const double along =
      (x * std::cos(implant.direction) + y * std::sin(implant.direction)) / rho;
  return weight * (1.0 + 2.5 * along * along);
}

/// Of the cells beyond the capsule, out to four radii: 98 % of the heat in one tissue.
[[nodiscard]] std::vector<Surrounding> tissues_around(const RunPlan& plan, double radius)
{
  const geometry::Raster& raster = plan.grid.raster;
  const double x0 = raster.x(plan.source_i);
  const double y0 = raster.y(plan.source_j);
  const double nearest = radius + 0.75 * raster.cell;  // no cell that the capsule cuts
  const int reach = static_cast<int>(std::ceil(4.0 * radius / raster.cell)) + 1;
  std::vector<double> weights(plan.tissues.size(), 0.0);
  double sum = 0.0;
  for (int j = std::max(0, plan.source_j - reach);
       j <= std::min(raster.ny - 1, plan.source_j + reach); ++j) {
    for (int i = std::max(0, plan.source_i - reach);
         i <= std::min(raster.nx - 1, plan.source_i + reach); ++i) {
      const double x = raster.x(i) - x0;
      const double y = raster.y(j) - y0;
      if (std::hypot(x, y) < nearest ||
          std::hypot(x, y) > std::max(4.0 * radius, nearest + raster.cell)) {
        continue;
      }
      const double weight = near_field_weight(*plan.scenario.implant, x, y);
      for (const geometry::Share& share :
           plan.map.palette[plan.map.cells[raster.at(i, j)]]) {
        weights[share.tissue] += weight * share.quanta;
        sum += weight * share.quanta;
      }
    }
  }
  std::vector<Surrounding> around;
  for (std::size_t t = 0; t < weights.size(); ++t) {
    if (weights[t] > 0.0) {
      around.push_back({static_cast<std::uint16_t>(t), weights[t] / sum});
    }
  }
  std::ranges::sort(around, std::greater{}, &Surrounding::share);
  return around;
}

/// The capsule of a scenario, or a small sphere of the tissue itself.
struct Housing {
  double radius = 0.0;
  std::uint16_t filling = 0;
  bool drawn = true;
};

[[nodiscard]] Housing housing_of(const RunPlan& plan)
{
  const auto& capsule = plan.scenario.implant->capsule;
  if (!capsule) {
    return {plan.grid.raster.cell,
            plan.map.labels[plan.grid.raster.at(plan.source_i, plan.source_j)], false};
  }
  const auto filling =
      std::ranges::find(plan.tissues, capsule->material, &materials::Tissue::name);
  return {capsule->radius, static_cast<std::uint16_t>(filling - plan.tissues.begin()),
          true};
}

/// The gain of one slice by frequency.
class GainModel {
public:
  explicit GainModel(const RunPlan& plan)
      : plan_(plan),
        housing_(housing_of(plan)),
        around_(tissues_around(plan, housing_.radius))
  {
  }

  /// Why there is no gain at this frequency.
  [[nodiscard]] std::optional<std::string> obstacle(double frequency) const
  {
    for (const Surrounding& part : around_) {
      if (materials::is_conductor(plan_.tissues[part.tissue])) {
        return "a perfect conductor lies next to the implant; move it away";
      }
    }
    if (materials::is_conductor(plan_.tissues[housing_.filling])) {
      return "a perfect conductor is no capsule; fill it with a dielectric";
    }
    const materials::Tissue& filling = plan_.tissues[housing_.filling];
    const Complex eps = materials::relative_permittivity(filling, frequency);
    if (!housing_.drawn && (eps.imag() != 0.0 || around_.size() > 1)) {
      return "a short dipole in a medium with losses, or next to a face, delivers a "
             "power without limit; give the implant a capsule";
    }
    if (-eps.imag() > most_loss_tangent * eps.real()) {
      return fmt::format(
          "the capsule is filled with {}, of loss tangent {:.3g} at "
          "{:.6g} MHz; the closed form of its dipole needs a filling without losses (up "
          "to "
          "{:g} is taken as such)",
          filling.name, -eps.imag() / eps.real(), frequency * 1e-6, most_loss_tangent);
    }
    return std::nullopt;
  }

  [[nodiscard]] postproc::AntennaGain gain(const postproc::FrequencyResult& at,
                                           double outer_eps) const
  {
    postproc::AntennaGain gain = postproc::antenna_gain(
        at.far_field->intensity, {polarisation(), at.frequency, outer_eps},
        capsule(at.frequency, mean_eps(at.frequency)), source());
    gain.uncertainty_db = at.uncertainty_db;
    gain.uncertainty_db["surroundings"] = spread_db(at.frequency);
    return gain;
  }

  [[nodiscard]] CapsuleInTissue capsule_in_tissue(double frequency) const
  {
    CapsuleInTissue result{capsule(frequency, mean_eps(frequency)), 0.0, 0.0, mixture()};
    for (const Surrounding& part : around_) {
      const std::optional<double>& density = plan_.tissues[part.tissue].density;
      result.density += part.share * density.value_or(0.0);
      result.known += density ? part.share : 0.0;
    }
    result.density /= std::max(result.known, 1e-9);
    return result;
  }

  [[nodiscard]] std::vector<std::string> assumptions() const
  {
    const std::string filling =
        housing_.drawn
            ? fmt::format(" of radius {:.4g} mm filled with {}", housing_.radius * 1e3,
                          plan_.tissues[housing_.filling].name)
            : std::string(" of the medium around it");
    return {
        "the body goes on unchanged above and below the slice, the reader is in its "
        "plane",
        fmt::format("the antenna is a short dipole {}, without mismatch, in the "
                    "middle of a sphere{}; neither has losses{}",
                    kind() == solver::RadiatorKind::line_current ? "along the body"
                                                                 : "in the plane",
                    filling, losses_left_out()),
        fmt::format("around the sphere is one tissue without end, mixed by what the "
                    "near field heats: {}",
                    mixture())};
  }

private:
  /// "blood 60 %, fat 40 %"
  [[nodiscard]] std::string mixture() const
  {
    std::string around;
    for (const Surrounding& part : around_) {
      if (part.share >= 0.01) {
        around += fmt::format("{}{} {:.0f} %", around.empty() ? "" : ", ",
                              plan_.tissues[part.tissue].name, 100.0 * part.share);
      }
    }
    return around;
  }
  /// What the lossless filling leaves out, if anything.
  [[nodiscard]] std::string losses_left_out() const
  {
    const double frequency = plan_.scenario.frequencies.front();
    const Complex eps = eps_of(housing_.filling, frequency);
    return eps.imag() == 0.0
               ? ""
               : fmt::format(
                     " (those of the filling, loss tangent {:.2g} at {:.6g} MHz, "
                     "belong into link.implant.capsule_loss)",
                     -eps.imag() / eps.real(), frequency * 1e-6);
  }
  [[nodiscard]] solver::RadiatorKind kind() const
  {
    return radiator_kind(plan_.scenario.implant->source);
  }
  [[nodiscard]] solver::Polarisation polarisation() const
  {
    return plan_.is_tez() ? solver::Polarisation::tez : solver::Polarisation::tmz;
  }
  [[nodiscard]] postproc::SliceSource source() const { return {kind(), housing_.drawn}; }
  [[nodiscard]] solver::Capsule capsule(double frequency, Complex tissue) const
  {
    return {housing_.radius,
            materials::relative_permittivity(plan_.tissues[housing_.filling], frequency)
                .real(),
            tissue};
  }
  [[nodiscard]] Complex eps_of(std::uint16_t tissue, double frequency) const
  {
    return materials::relative_permittivity(plan_.tissues[tissue], frequency);
  }
  [[nodiscard]] Complex mean_eps(double frequency) const
  {
    Complex mean;
    for (const Surrounding& part : around_) {
      mean += part.share * eps_of(part.tissue, frequency);
    }
    return mean;
  }

  /// Factor over P, what the tissue next to the capsule does to the gain [dB].
  [[nodiscard]] double level_db(double frequency, Complex tissue) const
  {
    const solver::Capsule sphere = capsule(frequency, tissue);
    return 10.0 * std::log10(postproc::capsule_factor(sphere, frequency, source()) /
                             solver::CapsuleDipole(sphere, frequency).delivered());
  }

  /// The largest change if one of the tissues with a tenth of the heat were everywhere.
  [[nodiscard]] double spread_db(double frequency) const
  {
    constexpr double counts = 0.1;
    const double mixed = level_db(frequency, mean_eps(frequency));
    double spread = 0.0;
    for (const Surrounding& part : around_) {
      if (part.share >= counts) {
        const double alone = level_db(frequency, eps_of(part.tissue, frequency));
        spread = std::max(spread, std::abs(alone - mixed));
      }
    }
    return spread;
  }

  const RunPlan& plan_;
  Housing housing_;
  std::vector<Surrounding> around_;
};

/// Permittivity of what goes on to infinity; empty: no far field.
[[nodiscard]] std::optional<double> outer_eps(const RunPlan& plan)
{
  return postproc::outer_permittivity(plan.map, plan.stepped, plan.radiation);
}

[[nodiscard]] std::vector<double> in_radians(std::vector<double> degrees)
{
  for (double& angle : degrees) {
    angle *= std::numbers::pi / 180.0;
  }
  return degrees;
}

}  // namespace

std::optional<GainObstacle> gain_obstacle(const RunPlan& plan)
{
  const scenarios::Scenario& scenario = plan.scenario;
  if (plan.one_d()) {
    return GainObstacle{"mode",
                        "planar layers have no far field that a link could use; write "
                        "mode: TMz or TEz with body.shapes"};
  }
  if (scenario.incident) {
    return GainObstacle{"incident",
                        "a plane wave is no transmitter; put an implant in its place"};
  }
  if (!has_gain(scenario.implant->source)) {
    return GainObstacle{"implant.source",
                        "a magnetic line has no gain in three dimensions here; write "
                        "source: dipole, or mode: TMz with a line_current"};
  }
  if (!outer_eps(plan)) {
    return GainObstacle{scenario.grid.size ? "grid.size" : "grid.margin",
                        "no far field: the body reaches the absorber, or the background "
                        "has losses; write a larger domain, or background: air"};
  }
  const GainModel model(plan);
  for (const double frequency : scenario.frequencies) {
    if (const auto problem = model.obstacle(frequency)) {
      return GainObstacle{"implant.capsule", *problem};
    }
  }
  return std::nullopt;
}

void add_antenna_gains(const RunPlan& plan, postproc::Result& result)
{
  if (const auto obstacle = gain_obstacle(plan)) {
    if (obstacle->key == "implant.capsule") {
      result.notes.push_back(std::string(no_gain_note) + obstacle->problem);
    }
    return;
  }
  const GainModel model(plan);
  const geometry::BodyReach reach = geometry::body_reach(
      plan.grid.raster, *plan.body, in_radians(result.far_angle_deg));
  result.link = {reach.to_skin, reach.extent, model.assumptions()};
  const double outer = outer_eps(plan).value();
  for (postproc::FrequencyResult& at : result.frequencies) {
    at.antenna_gain = model.gain(at, outer);
  }
}

std::optional<std::string> capsule_problem(const RunPlan& plan, double frequency)
{
  return GainModel(plan).obstacle(frequency);
}

CapsuleInTissue capsule_in_tissue(const RunPlan& plan, double frequency)
{
  return GainModel(plan).capsule_in_tissue(frequency);
}

std::optional<std::string> reader_problem(const RunPlan& plan)
{
  if (!plan.body) {
    return std::nullopt;
  }
  const scenarios::Link& link = plan.scenario.link;
  const std::vector<double> angles =
      link.direction ? std::vector{*link.direction}
                     : in_radians(postproc::sector_centres_deg(postproc::far_directions));
  const geometry::BodyReach reach =
      geometry::body_reach(plan.grid.raster, *plan.body, angles);
  const double nearest = *std::ranges::min_element(reach.to_skin);
  if (link.input.path.distance > nearest) {
    return std::nullopt;
  }
  return fmt::format(
      "the reader would be inside the body, which goes {:.4g} mm from the origin {}; "
      "write a larger distance, got {:.4g} mm",
      nearest * 1e3, link.direction ? "in its direction" : "at least in every direction",
      link.input.path.distance * 1e3);
}

}  // namespace torsowave::app
