#include "app/concentric_body.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <optional>
#include <stdexcept>
#include <utility>

#include "app/place_in_grid.hpp"
#include "materials/tissue.hpp"

namespace torsowave::app {
namespace {

using scenarios::Scenario;

constexpr double same_place = 1e-9;  ///< [m]
constexpr const char* accepted =
    "\"compare\" needs a slice with an exact answer: circles and shells about one centre "
    "(a capsule too), or mode 1D with body.layers";

/// A circle of the body, or nothing where the shape is none.
[[nodiscard]] std::optional<geometry::Circle> circle_of(const geometry::Outline& outline)
{
  if (const auto* circle = std::get_if<geometry::Circle>(&outline)) {
    return *circle;
  }
  if (const auto* ellipse = std::get_if<geometry::Ellipse>(&outline)) {
    if (ellipse->semi_axis_x == ellipse->semi_axis_y) {
      return geometry::Circle{ellipse->center, ellipse->semi_axis_x};
    }
  }
  return std::nullopt;
}

/// Rings being painted, innermost first, without gaps from the centre outward.
class Paint {
public:
  /// What lies between two radii becomes `tissue`.
  void paint(const std::string& tissue, double from, double to)
  {
    std::vector<TissueRing> painted;
    const auto add = [&](const std::string& name, double until) {
      const double start = painted.empty() ? 0.0 : painted.back().outer_radius;
      if (until > start) {
        painted.push_back({name, until});
      }
    };
    for (const TissueRing& ring : rings_) {  // what stays inside
      add(ring.tissue, std::min(ring.outer_radius, from));
    }
    add(tissue, to);
    for (const TissueRing& ring : rings_) {  // what stays outside
      add(ring.tissue, ring.outer_radius);
    }
    rings_ = std::move(painted);
  }

  /// Of everything painted so far.
  [[nodiscard]] double radius() const
  {
    return rings_.empty() ? 0.0 : rings_.back().outer_radius;
  }

  /// Rings of equal neighbours joined, those of the background left out outside.
  [[nodiscard]] std::vector<TissueRing> rings(const std::string& background) const
  {
    std::vector<TissueRing> joined;
    for (const TissueRing& ring : rings_) {
      if (!joined.empty() && joined.back().tissue == ring.tissue) {
        joined.back().outer_radius = ring.outer_radius;
      } else {
        joined.push_back(ring);
      }
    }
    while (!joined.empty() && joined.back().tissue == background) {
      joined.pop_back();
    }
    return joined;
  }

private:
  std::vector<TissueRing> rings_;
};

void require_centre(const Scenario& scenario, const std::string& key,
                    geometry::Point centre, geometry::Point here)
{
  const double away = std::hypot(here.x - centre.x, here.y - centre.y);
  if (away > same_place) {
    refuse_key(scenario, key,
               fmt::format("lies {:.4g} mm from the centre of the body, [{:.4g} mm, "
                           "{:.4g} mm]; {}",
                           1e3 * away, 1e3 * centre.x, 1e3 * centre.y, accepted));
  }
}

[[nodiscard]] bool is_conductor(const Scenario& scenario, const std::string& tissue)
{
  for (const materials::Tissue& own : scenario.materials.custom) {
    if (own.name == tissue) {
      return materials::is_conductor(own);
    }
  }
  return materials::is_conductor(*materials::find_tissue(tissue));
}

void check_conductors(const Scenario& scenario, const ConcentricBody& body)
{
  for (std::size_t r = 1; r < body.rings.size(); ++r) {
    if (is_conductor(scenario, body.rings[r].tissue)) {
      refuse_key(scenario, "body.shapes",
                 fmt::format("{}, a perfect conductor, has other tissue inside it; "
                             "\"compare\" takes one as the innermost circle alone",
                             body.rings[r].tissue));
    }
  }
}

void check_source(const Scenario& scenario, const ConcentricBody& body)
{
  if (!scenario.implant) {
    return;
  }
  const double radius = std::hypot(scenario.implant->position.x - body.centre.x,
                                   scenario.implant->position.y - body.centre.y);
  for (const TissueRing& ring : body.rings) {
    if (std::abs(ring.outer_radius - radius) < same_place) {
      refuse_key(
          scenario, "implant.position",
          fmt::format("lies on the outline of {} at {:.4g} mm; move it into one of "
                      "the two media",
                      ring.tissue, 1e3 * ring.outer_radius));
    }
  }
}

/// The centre of the first circle; every other shape has to share it.
[[nodiscard]] Paint painted_shapes(const Scenario& scenario,
                                   std::optional<geometry::Point>& centre)
{
  Paint paint;
  for (std::size_t s = 0; s < scenario.body.shapes.size(); ++s) {
    const geometry::Shape& shape = scenario.body.shapes[s];
    if (s < scenario.body.torso_shapes) {
      refuse_key(scenario, "body.torso", fmt::format("is no circle; {}", accepted));
    }
    const std::string key = shape_key(scenario.body, s);
    if (const auto* shell = std::get_if<geometry::Shell>(&shape.outline)) {
      const double outer = paint.radius();
      paint.paint(shape.tissue, std::max(0.0, outer - shell->thickness), outer);
      continue;
    }
    const std::optional<geometry::Circle> circle = circle_of(shape.outline);
    if (!circle) {
      refuse_key(scenario, key, fmt::format("is no circle; {}", accepted));
    }
    if (!centre) {
      centre = circle->center;
    }
    require_centre(scenario, key, *centre, circle->center);
    paint.paint(shape.tissue, 0.0, circle->radius);
  }
  return paint;
}

[[nodiscard]] solver::cylinder::Source source_of(const Scenario& scenario)
{
  if (scenario.incident) {
    return solver::cylinder::PlaneWave{scenario.incident->angle};
  }
  const scenarios::ImplantSpec& implant = *scenario.implant;
  if (implant.source == scenarios::SourceKind::dipole) {
    return solver::cylinder::Dipole{implant.position, implant.direction};
  }
  return solver::cylinder::LineSource{implant.position};
}

[[nodiscard]] std::complex<double> permittivity(const RunPlan& plan,
                                                const std::string& tissue,
                                                RingMedia media, double frequency)
{
  const auto at = std::ranges::find(plan.tissues, tissue, &materials::Tissue::name);
  if (at == plan.tissues.end()) {
    throw std::logic_error("the plan lacks " + tissue);
  }
  if (media == RingMedia::own) {
    return materials::relative_permittivity(*at, frequency);
  }
  const auto number = static_cast<std::size_t>(at - plan.tissues.begin());
  return materials::relative_permittivity(plan.fitted.media.at(number),
                                          plan.fitted.relaxation_times, frequency);
}

}  // namespace

ConcentricBody concentric_body(const Scenario& scenario)
{
  if (scenario.mode == scenarios::Mode::one_d) {
    throw std::logic_error("mode 1D has layers, no rings");
  }
  std::optional<geometry::Point> centre;
  Paint paint = painted_shapes(scenario, centre);
  if (!centre) {
    refuse_key(scenario, "body", fmt::format("has no circle; {}", accepted));
  }
  if (scenario.implant && scenario.implant->capsule) {
    require_centre(scenario, "implant.capsule", *centre, scenario.implant->position);
    paint.paint(scenario.implant->capsule->material, 0.0,
                scenario.implant->capsule->radius);
  }
  ConcentricBody body{*centre, paint.rings(scenario.body.background)};
  if (body.rings.empty()) {
    refuse_key(
        scenario, "body.shapes",
        fmt::format("leave nothing but {}; {}", scenario.body.background, accepted));
  }
  check_conductors(scenario, body);
  check_source(scenario, body);
  return body;
}

solver::cylinder::Solution exact_cylinder(const RunPlan& plan, const ConcentricBody& body,
                                          RingMedia media, double frequency)
{
  solver::cylinder::Body round;
  round.centre = body.centre;
  for (const TissueRing& ring : body.rings) {
    if (is_conductor(plan.scenario, ring.tissue)) {
      round.conductor_radius = ring.outer_radius;
    } else {
      round.layers.push_back(
          {ring.outer_radius, permittivity(plan, ring.tissue, media, frequency)});
    }
  }
  round.eps_outside = permittivity(plan, plan.scenario.body.background, media, frequency);
  return {round, plan.is_tez() ? solver::Polarisation::tez : solver::Polarisation::tmz,
          frequency, source_of(plan.scenario)};
}

}  // namespace torsowave::app
