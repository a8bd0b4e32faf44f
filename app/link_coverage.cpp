#include "app/link_coverage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "app/implant_gain.hpp"
#include "app/place_in_grid.hpp"
#include "app/source_drive.hpp"
#include "materials/tissue.hpp"
#include "postproc/far_field.hpp"
#include "solver/wave_direction.hpp"

namespace torsowave::app {
namespace {

using Complex = std::complex<double>;
using postproc::CoverageMap;
using postproc::CoverageResult;
using postproc::PlaneField;
using scenarios::Scenario;
using scenarios::SourceKind;

constexpr double degrees = 180.0 / std::numbers::pi;

void check_implant(const RunPlan& with_implant)
{
  const Scenario& scenario = with_implant.scenario;
  if (const auto obstacle = gain_obstacle(with_implant)) {
    refuse_key(scenario, obstacle->key, obstacle->problem);
  }
  if (!scenario.implant->capsule) {
    refuse_key(scenario, "implant",
               "coverage needs a capsule: a bare dipole in tissue delivers a power "
               "without limit; add capsule: {radius: 4 mm, material: air}");
  }
}

/// Nothing but what the run is needed for.
[[nodiscard]] Scenario bare(Scenario scenario)
{
  scenario.outputs = {};
  return scenario;
}

[[nodiscard]] Scenario illuminated(const RunPlan& with_implant, double reader)
{
  const Scenario& scenario = with_implant.scenario;
  Scenario result = bare(scenario);
  result.grid.cell = with_implant.grid.raster.cell;
  result.grid.cells_per_wavelength.reset();
  result.implant.reset();
  result.incident = scenarios::IncidentSpec{reader + std::numbers::pi};
  result.outputs.phasors = scenario.mode == scenarios::Mode::tez
                               ? std::vector<std::string>{"Ex", "Ey"}
                               : std::vector<std::string>{"Ez"};
  return result;
}

/// Towards the reader, as the grid's plane wave comes from there [rad].
[[nodiscard]] double grid_direction(double reader)
{
  const double travel =
      solver::nearest_direction(reader + std::numbers::pi).angle() - std::numbers::pi;
  return std::remainder(travel, 2.0 * std::numbers::pi);
}

/// The gain of implants in the plan's tissues.
class ImplantModel {
public:
  ImplantModel(const RunPlan& plan, const Scenario& scenario)
      : plan_(plan), scenario_(scenario), kind_(radiator_kind(scenario.implant->source))
  {
    const auto outer =
        postproc::outer_permittivity(plan_.map, plan_.stepped, plan_.radiation);
    if (!outer) {
      refuse_key(scenario_, "body.background",
                 "coverage needs one medium without losses around the body, up to the "
                 "rim of the domain");
    }
    outer_eps_ = *outer;
    for (const double frequency : plan_.scenario.frequencies) {
      source_gains_.push_back(source_gains(frequency));
    }
  }

  [[nodiscard]] postproc::CoverageCase at(std::size_t f, double angle) const
  {
    return {plan_.map, plan_.grid, zone(f),
            angle,     kind_,      capsules(plan_.scenario.frequencies[f])};
  }

  /// |s|^2 of a source in a cell, s as in solver::source_gain(). \param direction  of an
  /// in-plane dipole [rad]
  [[nodiscard]] double squared_gain(std::size_t f, std::size_t cell,
                                    double direction) const
  {
    const Complex gain = source_gains_[f][plan_.map.cells[cell]];
    if (kind_ != solver::RadiatorKind::dipole) {
      return std::norm(gain);
    }
    const double y = std::sin(direction);
    return std::norm(1.0 + y * y * (gain - 1.0));
  }

  [[nodiscard]] postproc::FarZone zone(std::size_t f) const
  {
    return {plan_.is_tez() ? solver::Polarisation::tez : solver::Polarisation::tmz,
            plan_.scenario.frequencies[f], outer_eps_};
  }

  /// Of an in-plane dipole [rad].
  [[nodiscard]] double direction() const { return scenario_.implant->direction; }

private:
  /// By palette entry of the map; of a dipole along y, since along x it is 1.
  [[nodiscard]] std::vector<Complex> source_gains(double frequency) const
  {
    std::vector<Complex> gains;
    for (const geometry::Mixture& mixture : plan_.map.palette) {
      const bool conductor =
          std::ranges::any_of(mixture, [&](const geometry::Share& share) {
            return plan_.fitted.media[share.tissue].conductor;
          });
      gains.push_back(conductor ? 1.0
                                : source_gain_in(plan_, kind_, mixture, frequency,
                                                 0.5 * std::numbers::pi));
    }
    return gains;
  }

  [[nodiscard]] std::vector<std::optional<solver::Capsule>> capsules(
      double frequency) const
  {
    const scenarios::Capsule& capsule = *scenario_.implant->capsule;
    const double filling = materials::relative_permittivity(
                               tissue_named(scenario_, capsule.material), frequency)
                               .real();
    std::vector<std::optional<solver::Capsule>> result;
    for (const materials::Tissue& tissue : plan_.tissues) {
      if (tissue.name == scenario_.body.background || materials::is_conductor(tissue)) {
        result.emplace_back();
        continue;
      }
      result.emplace_back(solver::Capsule{
          capsule.radius, filling, materials::relative_permittivity(tissue, frequency)});
    }
    return result;
  }

  const RunPlan& plan_;
  const Scenario& scenario_;
  solver::RadiatorKind kind_;
  double outer_eps_ = 1.0;
  std::vector<std::vector<Complex>> source_gains_;
};

/// E by cell at one frequency of a run: Ez and 0, or Ex and Ey.
class CellFields {
public:
  CellFields(const postproc::Result& run, std::size_t f, std::size_t cells)
      : run_(run), first_(f * cells)
  {
  }

  [[nodiscard]] PlaneField at(std::size_t cell) const
  {
    const auto value = [&](std::size_t field) {
      return field < run_.phasors.size()
                 ? Complex(run_.phasors[field].values[first_ + cell])
                 : Complex();
    };
    return {value(0), value(1)};
  }

private:
  const postproc::Result& run_;
  std::size_t first_;
};

/// |E . p|^2/|s|^2 by cell of an in-plane dipole along `direction` [rad], or in its best
/// one; NaN where it has no place.
[[nodiscard]] std::vector<double> dipole_couplings(
    const ImplantModel& model, std::size_t f, const CellFields& fields,
    const std::vector<std::ptrdiff_t>& inside, const std::optional<double>& direction)
{
  std::vector<double> coupling;
  coupling.reserve(inside.size());
  for (const std::ptrdiff_t at : inside) {
    if (at < 0) {
      coupling.push_back(std::numeric_limits<double>::quiet_NaN());
      continue;
    }
    const auto cell = static_cast<std::size_t>(at);
    const PlaneField e = fields.at(cell);
    const double along = direction.value_or(postproc::best_dipole_direction(e));
    coupling.push_back(postproc::dipole_coupling(e, along) /
                       model.squared_gain(f, cell, along));
  }
  return coupling;
}

/// One frequency of one direction.
/// \param inside  \see cells_inside(); empty in TMz
[[nodiscard]] CoverageMap map_of(const ImplantModel& model, const RunPlan& plan,
                                 const CellFields& fields, std::size_t f, double angle,
                                 const std::vector<std::ptrdiff_t>& inside)
{
  const postproc::CoverageCase of = model.at(f, angle);
  CoverageMap map;
  map.frequency = plan.scenario.frequencies[f];
  if (plan.is_tez()) {
    map.gain_dbi = postproc::gain_map(
        of, dipole_couplings(model, f, fields, inside, model.direction()));
    map.best_gain_dbi =
        postproc::gain_map(of, dipole_couplings(model, f, fields, inside, std::nullopt));
    return map;
  }
  std::vector<double> coupling;
  for (std::size_t p = 0; p < plan.map.cells.size(); ++p) {
    coupling.push_back(std::norm(fields.at(p).x) / model.squared_gain(f, p, 0.0));
  }
  map.gain_dbi = postproc::gain_map(of, coupling);
  return map;
}

void add_figures(const RunPlan& plan, CoverageMap& map)
{
  const auto figures = [&](const std::vector<float>& gain_dbi) {
    return postproc::coverage_figures(plan.map, *plan.surface,
                                      postproc::margin_of(gain_dbi, map.margin_at_0_dbi));
  };
  map.figures = figures(map.gain_dbi);
  if (!map.best_gain_dbi.empty()) {
    map.best_figures = figures(map.best_gain_dbi);
  }
}

void add_joint(const RunPlan& plan, CoverageResult& result)
{
  const std::size_t count = result.frequencies.size();
  for (std::size_t f = 0; f < count; ++f) {
    postproc::JointCoverage joint{result.frequencies[f], margin_of(result.maps[f]), {}};
    for (std::size_t d = 1; d < result.directions.size(); ++d) {
      const std::vector<float> other = margin_of(result.maps[d * count + f]);
      std::ranges::transform(joint.margin_db, other, joint.margin_db.begin(),
                             [](float a, float b) { return std::max(a, b); });
    }
    joint.figures = postproc::coverage_figures(plan.map, *plan.surface, joint.margin_db);
    result.joint.push_back(std::move(joint));
  }
}

[[nodiscard]] std::string implant_text(const scenarios::ImplantSpec& implant)
{
  return implant.source == SourceKind::dipole
             ? fmt::format("short in-plane dipole at {:.4g} deg",
                           implant.direction * degrees)
             : std::string("short dipole along z");
}

/// The options of one of several runs.
[[nodiscard]] RunOptions options_of_run(const RunOptions& options, std::size_t run,
                                        std::size_t runs)
{
  RunOptions changed = options;
  if (options.progress) {
    changed.progress = [&options, run, runs](Progress progress) {
      progress.run = static_cast<int>(run) + 1;
      progress.runs = static_cast<int>(runs);
      options.progress(progress);
    };
  }
  return changed;
}

/// The source alone, in the cell of a place.
[[nodiscard]] Scenario direct_scenario(const RunPlan& with_implant, Cell cell,
                                       double dipole_direction)
{
  const geometry::Raster& raster = with_implant.grid.raster;
  Scenario result = bare(with_implant.scenario);
  result.grid.cell = raster.cell;
  result.grid.cells_per_wavelength.reset();
  result.implant->position = {raster.x(cell.i), raster.y(cell.j)};
  result.implant->direction = dipole_direction;
  result.implant->capsule.reset();
  return result;
}

/// The map's gain and that of the direct run's U [W/m/rad].
void compare(const ImplantModel& model, double angle, const CheckPlace& place,
             const PlaneField& e, double direct, CoverageCheck& check)
{
  const postproc::CoverageCase of = model.at(check.frequency, angle);
  const std::size_t cell = of.map.raster.at(place.cell.i, place.cell.j);
  const double coupling = of.kind == solver::RadiatorKind::dipole
                              ? postproc::dipole_coupling(e, check.dipole_direction)
                              : std::norm(e.x);
  const double reciprocal =
      postproc::reciprocal_intensity(of.grid, of.zone, of.angle) * coupling /
      model.squared_gain(check.frequency, cell, check.dipole_direction);
  const postproc::AntennaGain gain =
      postproc::antenna_gain(std::vector<double>{reciprocal, direct}, of.zone,
                             of.capsules[of.map.labels[cell]].value(), {of.kind, false});
  check.map_dbi = gain.gain_dbi[0];
  check.direct_dbi = gain.gain_dbi[1];
}

/// What a run does not hold of the slice that users know.
void describe(const RunPlan& plan, const Scenario& scenario, CoverageResult& result)
{
  const scenarios::ImplantSpec& implant = *scenario.implant;
  result.slice.implant = implant.position;
  result.slice.phasors.clear();
  result.implant = implant_text(implant);
  result.capsule = fmt::format("in a sphere of {:.4g} mm radius filled with {}",
                               implant.capsule->radius * 1e3, implant.capsule->material);
  result.frequencies = plan.scenario.frequencies;
  result.notes = {
      "The body goes on unchanged above and below the slice; the reader is in its plane, "
      "far away.",
      "The power that the implant delivers, and what its capsule does, are those in the "
      "tissue at the centre of the cell, as if it had no end: less sure within a few "
      "radii of an interface. Places where the capsule would stick out are not left "
      "out."};
  if (implant.source == SourceKind::dipole) {
    result.notes.emplace_back(
        "At an interface the field across it jumps: a dipole there is looked for in the "
        "nearest cell inside the same tissue, up to two cells away, and has no place "
        "where "
        "there is none.");
  }
  if (scenario.link.implant_gain_dbi) {
    result.notes.emplace_back(
        "link.implant.gain is not used: every place has the gain of the slice.");
  }
}

}  // namespace

LinkCoverage cover(const RunPlan& with_implant, const CoverageRequest& request,
                   const RunOptions& options)
{
  check_implant(with_implant);
  const Scenario& scenario = with_implant.scenario;
  LinkCoverage coverage;
  CoverageResult& result = coverage.result;
  const geometry::Point anchor = scenario.implant->position;
  coverage.plan = plan_run(illuminated(with_implant, request.directions.front()), anchor);
  coverage.places = coverage_places(coverage.plan, request.checks);
  if (request.checks.inside + request.checks.at_interfaces > 0 &&
      coverage.places.empty()) {
    refuse_key(scenario, "grid",
               "no cell lies inside one tissue, so that there is nothing to compare "
               "with; write smaller cells");
  }
  const RunPlan& plan = coverage.plan;
  const ImplantModel model(plan, scenario);
  const std::vector<std::ptrdiff_t> inside =
      plan.is_tez() ? cells_inside(plan) : std::vector<std::ptrdiff_t>{};
  for (std::size_t d = 0; d < request.directions.size(); ++d) {
    const double angle = grid_direction(request.directions[d]);
    const auto turn = [](double a) { return a < 0.0 ? a + 360.0 : a; };
    result.directions.push_back({request.directions[d] * degrees, turn(angle * degrees)});
    coverage.plan.scenario.incident->angle = request.directions[d] + std::numbers::pi;
    postproc::Result run =
        run_in_memory(plan, options_of_run(options, d, request.directions.size()));
    for (std::size_t f = 0; f < plan.scenario.frequencies.size(); ++f) {
      const CellFields fields(run, f, plan.map.cells.size());
      CoverageMap map = map_of(model, plan, fields, f, angle, inside);
      map.direction = d;
      map.margin_at_0_dbi = request.margin_at_0_dbi(map.frequency, angle);
      add_figures(plan, map);
      result.maps.push_back(std::move(map));
      for (CheckPlace& place : coverage.places) {
        place.fields.push_back(
            fields.at(plan.grid.raster.at(place.cell.i, place.cell.j)));
      }
    }
    result.slice = std::move(run);
  }
  describe(plan, scenario, result);
  result.link = request.link;
  if (result.directions.size() > 1) {
    add_joint(plan, result);
  }
  return coverage;
}

std::vector<CoverageCheck> check_coverage(const LinkCoverage& coverage,
                                          const RunPlan& with_implant,
                                          const RunOptions& options)
{
  const RunPlan& plan = coverage.plan;
  const Scenario& scenario = with_implant.scenario;
  const ImplantModel model(plan, scenario);
  std::vector<double> angles;
  for (const postproc::ReaderDirection& direction : coverage.result.directions) {
    angles.push_back(direction.angle_deg);
  }
  const std::size_t frequencies = plan.scenario.frequencies.size();
  const geometry::Point anchor = scenario.implant->position;
  std::vector<CoverageCheck> checks;
  for (std::size_t n = 0; n < coverage.places.size(); ++n) {
    const CheckPlace& place = coverage.places[n];
    const double dipole = plan.is_tez() ? visible_direction(place.fields) : 0.0;
    RunPlan direct = plan_run(direct_scenario(with_implant, place.cell, dipole), anchor);
    direct.far_angle_deg = angles;
    const postproc::Result run =
        run_in_memory(direct, options_of_run(options, n, coverage.places.size()));
    for (std::size_t d = 0; d < angles.size(); ++d) {
      for (std::size_t f = 0; f < frequencies; ++f) {
        CoverageCheck check{n, d, f, dipole, 0.0, 0.0};
        compare(model, angles[d] / degrees, place, place.fields[d * frequencies + f],
                run.frequencies[f].far_field.value().intensity[d], check);
        checks.push_back(check);
      }
    }
  }
  return checks;
}

}  // namespace torsowave::app
