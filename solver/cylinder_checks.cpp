#include <fmt/format.h>

#include <cmath>
#include <stdexcept>
#include <string>

#include "solver/cylinder_checks_internal.hpp"
#include "solver/cylinder_excitation_internal.hpp"

namespace torsowave::solver::cylinder {
namespace {

void require(bool ok, const std::string& message)
{
  if (!ok) {
    throw std::invalid_argument(message);
  }
}

void require_passive(const std::string& name, std::complex<double> eps_r)
{
  require(std::isfinite(eps_r.real()) && std::isfinite(eps_r.imag()) &&
              eps_r.imag() <= 0.0 && eps_r != 0.0,
          fmt::format("the permittivity of {} must not be 0 and have no gain (eps' - j "
                      "eps'', eps'' >= 0), got {} {:+}j",
                      name, eps_r.real(), eps_r.imag()));
}

}  // namespace

void require_sound(const Body& body)
{
  require(body.conductor_radius >= 0.0 && std::isfinite(body.conductor_radius),
          fmt::format("the conductor's radius [m] must be finite and >= 0, got {}",
                      body.conductor_radius));
  require(std::isfinite(body.centre.x) && std::isfinite(body.centre.y),
          "the centre of the body must be finite");
  double inner = body.conductor_radius;
  for (std::size_t m = 0; m < body.layers.size(); ++m) {
    const double outer = body.layers[m].outer_radius;
    require(
        std::isfinite(outer) && outer > inner,
        fmt::format("the outer radius of layer {} must be finite and > {} m, got {} m", m,
                    inner, outer));
    require_passive(fmt::format("layer {}", m), body.layers[m].eps_r);
    inner = outer;
  }
  require_passive("the outer medium", body.eps_outside);
}

namespace {

void require_place(const Body& body, geometry::Point position)
{
  const double radius = distance(body.centre, position);
  require(std::isfinite(radius), "the position of the source must be finite");
  require(body.conductor_radius == 0.0 || radius > body.conductor_radius,
          fmt::format("the source, {} m from the axis, is in the conductor of {} m",
                      radius, body.conductor_radius));
  for (const Layer& layer : body.layers) {
    require(radius != layer.outer_radius,
            fmt::format("the source lies on the interface at {} m: move it into one of "
                        "the two media",
                        radius));
  }
}

}  // namespace

void require_source(const Body& body, Polarisation polarisation, const Source& source)
{
  if (const auto* line = std::get_if<LineSource>(&source)) {
    require_place(body, line->position);
  } else if (const auto* dipole = std::get_if<Dipole>(&source)) {
    require(polarisation == Polarisation::tez,
            "an in-plane dipole excites TEz (Hz, Ex, Ey), not TMz");
    require(std::isfinite(dipole->direction), "the dipole's direction must be finite");
    require_place(body, dipole->position);
  } else {
    require(std::isfinite(std::get<PlaneWave>(source).direction),
            "the wave's direction must be finite");
  }
}

}  // namespace torsowave::solver::cylinder
