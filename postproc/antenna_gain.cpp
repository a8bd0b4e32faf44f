#include "postproc/antenna_gain.hpp"

#include <cmath>
#include <stdexcept>

#include "materials/constants.hpp"

namespace torsowave::postproc {
namespace {

void require_electric(const FarZone& zone, solver::RadiatorKind kind)
{
  using solver::Polarisation;
  using solver::RadiatorKind;
  if (!(kind == RadiatorKind::line_current && zone.polarisation == Polarisation::tmz) &&
      !(kind == RadiatorKind::dipole && zone.polarisation == Polarisation::tez)) {
    throw std::invalid_argument(
        "the gain of an implant needs a line current in TMz or an in-plane dipole in "
        "TEz");
  }
}

}  // namespace

double eirp(double intensity, const FarZone& zone)
{
  const double k = materials::two_pi * zone.frequency / materials::speed_of_light *
                   std::sqrt(zone.eps);
  return 2.0 * k * intensity;
}

double capsule_factor(const solver::Capsule& capsule, double frequency,
                      const SliceSource& source)
{
  const double sphere =
      std::norm(solver::CapsuleDipole(capsule, frequency).outside_moment());
  return source.has_capsule
             ? sphere /
                   std::norm(solver::line_outside_moment(capsule, frequency, source.kind))
             : sphere;
}

AntennaGain antenna_gain(std::span<const double> intensity, const FarZone& zone,
                         const solver::Capsule& capsule, const SliceSource& source)
{
  require_electric(zone, source.kind);
  const double factor = capsule_factor(capsule, zone.frequency, source);
  AntennaGain gain;
  gain.delivered = solver::CapsuleDipole(capsule, zone.frequency).delivered();
  gain.eirp.reserve(intensity.size());
  gain.gain_dbi.reserve(intensity.size());
  for (const double u : intensity) {
    gain.eirp.push_back(factor * eirp(u, zone));
    gain.gain_dbi.push_back(10.0 * std::log10(gain.eirp.back() / gain.delivered));
  }
  return gain;
}

}  // namespace torsowave::postproc
