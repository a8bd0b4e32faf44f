#include "geometry/region.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <string_view>

#include "geometry/outline_forms.hpp"

namespace torsowave::geometry {
namespace {

void require_positive(double value, const std::string& name, std::string_view what)
{
  if (!std::isfinite(value) || value <= 0.0) {
    throw std::invalid_argument(
        fmt::format("{}: {} must be finite and > 0 [m], got {}", name, what, value));
  }
}

void require_finite(double value, const std::string& name, std::string_view what)
{
  if (!std::isfinite(value)) {
    throw std::invalid_argument(
        fmt::format("{}: {} must be finite, got {}", name, what, value));
  }
}

void require_finite(Point p, const std::string& name, std::string_view what)
{
  require_finite(p.x, name, what);
  require_finite(p.y, name, what);
}

bool same(Point p, Point q) noexcept
{
  return p.x == q.x && p.y == q.y;
}

using Form = std::variant<EllipseRegion, PolygonRegion>;

/// Turns each kind of shape into one of the two forms, checking it on the way.
struct FormMaker {
  const std::string& name;

  Form operator()(const Circle& circle) const
  {
    require_finite(circle.center, name, "center");
    require_positive(circle.radius, name, "radius");
    return EllipseRegion{circle.center, circle.radius, circle.radius, 1.0, 0.0};
  }
  Form operator()(const Ellipse& ellipse) const
  {
    require_finite(ellipse.center, name, "center");
    require_positive(ellipse.semi_axis_x, name, "semi_axis_x");
    require_positive(ellipse.semi_axis_y, name, "semi_axis_y");
    require_finite(ellipse.rotation, name, "rotation");
    return EllipseRegion{ellipse.center, ellipse.semi_axis_x, ellipse.semi_axis_y,
                         std::cos(ellipse.rotation), std::sin(ellipse.rotation)};
  }
  Form operator()(const Rectangle& box) const
  {
    require_finite(box.min, name, "min");
    require_finite(box.max, name, "max");
    require_positive(box.max.x - box.min.x, name, "max.x - min.x");
    require_positive(box.max.y - box.min.y, name, "max.y - min.y");
    return PolygonRegion{
        {box.min, {box.max.x, box.min.y}, box.max, {box.min.x, box.max.y}}};
  }
  Form operator()(const Polygon& polygon) const
  {
    PolygonRegion region;
    for (const Point p : polygon.points) {
      require_finite(p, name, "each point");
      if (region.points.empty() || !same(p, region.points.back())) {
        region.points.push_back(p);
      }
    }
    while (region.points.size() > 1 &&
           same(region.points.front(), region.points.back())) {
      region.points.pop_back();
    }
    if (region.points.size() < 3) {
      throw std::invalid_argument(
          fmt::format("{}: a polygon needs at least 3 different points, got {}", name,
                      region.points.size()));
    }
    return region;
  }
  Form operator()(const Shell& /*shell*/) const
  {
    throw std::invalid_argument(
        fmt::format("{}: a shell has no outline of its own and can't stand here", name));
  }
  Form operator()(const LabelMap& /*map*/) const
  {
    throw std::invalid_argument(
        fmt::format("{}: a label map is no region and can't stand here", name));
  }
};

/// std::visit without its exception: a Region's form always has a value.
template <class Action>
auto with_form(const Form& form, Action action)
{
  if (const auto* ellipse = std::get_if<EllipseRegion>(&form)) {
    return action(*ellipse);
  }
  return action(*std::get_if<PolygonRegion>(&form));
}

}  // namespace

Region::Region(const Outline& outline, const std::string& name)
    : form_(std::visit(FormMaker{name}, outline)),
      bounds_(with_form(form_, [](const auto& form) { return bounds_of(form); }))
{
}

bool Region::contains(Point p) const noexcept
{
  if (p.x < bounds_.min.x || p.x > bounds_.max.x || p.y < bounds_.min.y ||
      p.y > bounds_.max.y) {
    return false;
  }
  return with_form(form_, [p](const auto& form) { return inside(form, p); });
}

double Region::outline_gap(Point p) const noexcept
{
  return with_form(form_, [p](const auto& form) { return gap(form, p); });
}

std::optional<HalfPlane> Region::half_plane(Point center, double radius,
                                            double tolerance) const noexcept
{
  return with_form(form_, [&](const auto& form) {
    return straighten(form, center, radius, tolerance);
  });
}

void Region::crossings(const Segment& segment, std::vector<double>& t) const
{
  with_form(form_, [&](const auto& form) { append_crossings(form, segment, t); });
}

std::vector<Segment> Region::polyline(double tolerance, double longest) const
{
  return with_form(form_,
                   [&](const auto& form) { return trace(form, tolerance, longest); });
}

double squared_distance(Point p, const Segment& segment, Point& nearest) noexcept
{
  const double dx = segment.b.x - segment.a.x;
  const double dy = segment.b.y - segment.a.y;
  const double rx = p.x - segment.a.x;
  const double ry = p.y - segment.a.y;
  const double squared = dx * dx + dy * dy;
  const double t =
      squared > 0.0 ? std::clamp((rx * dx + ry * dy) / squared, 0.0, 1.0) : 0.0;
  nearest = {segment.a.x + t * dx, segment.a.y + t * dy};
  const double ex = p.x - nearest.x;
  const double ey = p.y - nearest.y;
  return ex * ex + ey * ey;
}

}  // namespace torsowave::geometry
