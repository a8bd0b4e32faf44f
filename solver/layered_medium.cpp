#include "solver/layered_medium.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

[[nodiscard]] bool is_conductor(const LayeredMedium& medium, std::size_t m)
{
  return (m == 0 && medium.conductor_first) ||
         (m + 1 == medium.eps.size() && medium.conductor_last);
}

void require_sound(const LayeredMedium& medium, const TransverseWave& wave)
{
  if (medium.eps.size() < 2 || medium.eps.size() != medium.thickness.size() + 2) {
    throw std::invalid_argument(
        fmt::format("layers need two permittivities more than thicknesses, got {} and {}",
                    medium.eps.size(), medium.thickness.size()));
  }
  if (!(medium.frequency > 0.0) || !std::isfinite(medium.frequency) ||
      !std::isfinite(wave.wavenumber)) {
    throw std::invalid_argument(
        "layers need a finite frequency above 0 and a finite transverse wavenumber");
  }
  for (std::size_t m = 0; m < medium.eps.size(); ++m) {
    const Complex eps = medium.eps[m];
    const bool passive = std::isfinite(eps.real()) && eps.imag() <= 0.0 &&
                         std::isfinite(eps.imag()) && eps != 0.0;
    if (!passive && !is_conductor(medium, m)) {
      throw std::invalid_argument(
          fmt::format("the permittivity of medium {} is not that of a passive medium: "
                      "{} + j {}",
                      m, eps.real(), eps.imag()));
    }
  }
  for (const double d : medium.thickness) {
    if (!(d > 0.0) || !std::isfinite(d)) {
      throw std::invalid_argument(
          fmt::format("a layer must have a finite thickness above 0, got {} m", d));
    }
  }
}

[[nodiscard]] LineMedium medium_of(const LayeredMedium& medium, std::size_t m,
                                   const TransverseWave& wave)
{
  if (is_conductor(medium, m)) {
    LineMedium conductor;
    conductor.conductor = true;
    return conductor;
  }
  return line_medium(medium.eps[m], medium.frequency, wave);
}

/// What lies right of x, from there outwards.
[[nodiscard]] Line line_right_of(const LayeredMedium& medium, const TransverseWave& wave,
                                 double x)
{
  std::vector<LineStretch> stretches;
  if (x < 0.0) {
    stretches.push_back({medium_of(medium, 0, wave), -x});
  }
  for (std::size_t i = 0; i < medium.layers(); ++i) {
    const double from = std::max(x, medium.face(i));
    const double to = medium.face(i + 1);
    if (to > from) {
      stretches.push_back({medium_of(medium, i + 1, wave), to - from});
    }
  }
  return {stretches, medium_of(medium, medium.layers() + 1, wave)};
}

}  // namespace

double LayeredMedium::face(std::size_t number) const
{
  return std::accumulate(thickness.begin(),
                         thickness.begin() + static_cast<std::ptrdiff_t>(number), 0.0);
}

std::size_t LayeredMedium::at(double x) const
{
  std::size_t m = 0;
  while (m <= layers() && x >= face(m)) {
    ++m;
  }
  return m;
}

LayeredMedium reversed(const LayeredMedium& medium)
{
  LayeredMedium mirror = medium;
  std::ranges::reverse(mirror.eps);
  std::ranges::reverse(mirror.thickness);
  std::swap(mirror.conductor_first, mirror.conductor_last);
  return mirror;
}

double transverse_wavenumber(Complex eps, double frequency, double angle)
{
  if (!(angle >= 0.0) || angle >= 0.5 * std::numbers::pi) {
    throw std::invalid_argument(
        fmt::format("an angle of incidence is from 0 to below 90 degrees, got {} degrees",
                    angle * 180.0 / std::numbers::pi));
  }
  const double k0 = materials::two_pi * frequency / materials::speed_of_light;
  return k0 * std::sqrt(eps).real() * std::sin(angle);
}

double LayerFields::e_magnitude() const
{
  return std::sqrt(std::norm(tangential_e) + std::norm(normal_e));
}

LayerFields LayeredField::at(double x) const
{
  const std::size_t m = medium_.at(x);
  const bool from_right = x < sides_.source && sides_.left;
  if (is_conductor(medium_, m)) {
    return {};
  }
  LineFields line;
  if (from_right) {
    line = sides_.left->at(sides_.source - x);
    line.v = -line.v;  // the line counts along -x
  } else if (x < sides_.source) {
    const LineMedium first = medium_of(medium_, 0, wave_);
    line = before_face(first, sides_.right.at(0.0), sides_.source - x);
  } else {
    line = sides_.right.at(x - sides_.source);
  }
  LayerFields fields;
  fields.tangential_e = line.u;
  fields.flux = line.flux();
  if (wave_.polarisation == WavePolarisation::te) {
    fields.tangential_h = -line.v;  // V = -Hy
  } else {
    // j w eps Ex = dHz/dy = -j k_t Hz.
    const double omega = materials::two_pi * medium_.frequency;
    fields.tangential_h = line.v;
    fields.normal_e = -wave_.wavenumber * line.v /
                      (omega * materials::vacuum_permittivity * medium_.eps[m]);
  }
  return fields;
}

double LayeredField::heat(double from, double to) const
{
  const auto beyond = [](double distance) { return std::max(distance, 0.0); };
  const double x = sides_.source;
  double sum = sides_.right.heat(beyond(from - x), beyond(to - x));
  if (sides_.left) {
    sum += sides_.left->heat(beyond(x - to), beyond(x - from));
  }
  return sum;
}

namespace {

[[nodiscard]] std::vector<double> heat_by_layer(const LayeredField& field)
{
  std::vector<double> heat;
  for (std::size_t i = 0; i < field.medium().layers(); ++i) {
    heat.push_back(field.heat(field.medium().face(i), field.medium().face(i + 1)));
  }
  return heat;
}

}  // namespace

PlaneWaveAnswer solve_plane_wave(const LayeredMedium& medium, const TransverseWave& wave)
{
  require_sound(medium, wave);
  const LineMedium first = medium_of(medium, 0, wave);
  if (first.conductor || !(first.k.real() > 0.0)) {
    throw std::invalid_argument(
        "no plane wave comes from the first medium: it is a conductor, or the transverse "
        "wavenumber is too large for it");
  }
  const Complex y = first.admittance();
  // |E|^2 = |U|^2 + normal_ratio |V|^2 = 1 (V/m)^2.
  const double incident = 1.0 / std::sqrt(1.0 + first.normal_ratio * std::norm(y));
  Line line = line_right_of(medium, wave, 0.0);
  // U = U+ + U-, V = Y (U+ - U-) in the first medium.
  const LineFields shape = line.shape();
  const Complex forward = 0.5 * (shape.u + shape.v / y);
  const Complex factor = incident / forward;
  line.scale(factor);
  PlaneWaveAnswer answer{.field = {medium, wave, {0.0, std::move(line), std::nullopt}}};
  answer.reflection = 0.5 * (shape.u - shape.v / y) / forward;
  answer.reflectance = std::norm(answer.reflection);
  answer.incident_flux = 0.5 * incident * incident * y.real();
  const double entering = LineFields{factor * shape.u, factor * shape.v}.flux();
  answer.entering = entering / answer.incident_flux;
  const LayerFields behind = answer.field.at(medium.face(medium.layers()));
  answer.transmission = behind.tangential_e / incident;
  answer.transmittance = behind.flux / answer.incident_flux;
  answer.absorbed = heat_by_layer(answer.field);
  for (double& share : answer.absorbed) {
    share /= answer.incident_flux;
  }
  return answer;
}

CurrentSheetAnswer solve_current_sheet(const LayeredMedium& medium,
                                       const TransverseWave& wave, double x)
{
  require_sound(medium, wave);
  const double end = medium.face(medium.layers());
  if ((medium.conductor_first && x <= 0.0) || (medium.conductor_last && x >= end)) {
    throw std::invalid_argument(
        fmt::format("the current sheet at {} m stands in or on a perfect conductor", x));
  }
  Line right = line_right_of(medium, wave, x);
  Line left = line_right_of(reversed(medium), wave, end - x);
  // U is the same on both sides, and V jumps by minus the current, 1 A/m.
  const LineFields r = right.shape();
  const LineFields l = left.shape();
  const Complex both = r.v * l.u + l.v * r.u;
  right.scale(-l.u / both);
  left.scale(-r.u / both);
  const Complex u = -l.u * r.u / both;
  CurrentSheetAnswer answer{
      .field = {medium, wave, {x, std::move(right), std::move(left)}}};
  answer.delivered = -0.5 * u.real();
  answer.delivered_right = LineFields{u, -l.u * r.v / both}.flux();
  answer.delivered_left = LineFields{u, -r.u * l.v / both}.flux();
  answer.absorbed = heat_by_layer(answer.field);
  // What passes the outer faces, and what a half-space takes from the sheet inside it.
  const double first_flux = answer.field.at(0.0).flux;
  answer.into_first =
      x <= 0.0 ? answer.delivered_left + answer.field.heat(x, 0.0) : -first_flux;
  answer.into_last = x > end ? answer.delivered_right + answer.field.heat(end, x)
                             : answer.field.at(end).flux;
  return answer;
}

namespace {

/// Where the flux passes `target` between two places on either side of it.
[[nodiscard]] double bisected(const LayeredField& field, double from, double to,
                              double target)
{
  while (true) {
    const double middle = 0.5 * (from + to);
    if (middle <= from || middle >= to) {
      return middle;
    }
    (field.at(middle).flux > target ? from : to) = middle;
  }
}

}  // namespace

std::optional<double> depth_of_loss(const LayeredField& field, double reference_flux,
                                    double decibel)
{
  const double target = reference_flux * std::pow(10.0, -decibel / 10.0);
  const LayeredMedium& medium = field.medium();
  if (field.at(0.0).flux <= target) {
    return 0.0;
  }
  for (std::size_t i = 1; i <= medium.layers(); ++i) {
    if (field.at(medium.face(i)).flux <= target) {
      return bisected(field, medium.face(i - 1), medium.face(i), target);
    }
  }
  const double last_face = medium.face(medium.layers());
  const LineMedium last = medium_of(medium, medium.layers() + 1, field.wave());
  const double alpha = -last.k.imag();
  if (!(alpha > 0.0)) {
    return std::nullopt;
  }
  return last_face + std::log(field.at(last_face).flux / target) / (2.0 * alpha);
}

}  // namespace torsowave::solver
