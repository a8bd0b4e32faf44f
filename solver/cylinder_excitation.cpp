#include <cmath>
#include <stdexcept>

#include "solver/cylinder_excitation_internal.hpp"

namespace torsowave::solver::cylinder {
namespace {

/// The part of a vector x + j y along a unit vector.
Ball along(const Ball& vector, const Ball& unit)
{
  return real(vector * conj(unit));
}

Ball quarter(const Ball& value)
{
  return value / Ball(4.0, value.bits());
}

}  // namespace

Polar polar(const Ball& displacement)
{
  if (displacement.is_exact_zero()) {
    return {displacement, Ball(1.0, displacement.bits())};
  }
  const Ball radius = modulus(displacement);
  return {radius, displacement / radius};
}

Ball displacement(geometry::Point from, geometry::Point to, long bits)
{
  return Ball({to.x, to.y}, bits) - Ball({from.x, from.y}, bits);
}

std::size_t medium_at(const Body& body, double radius)
{
  std::size_t m = 0;
  while (m < body.layers.size() && radius > body.layers[m].outer_radius) {
    ++m;
  }
  return m;
}

double distance(geometry::Point a, geometry::Point b)
{
  return std::hypot(a.x - b.x, a.y - b.y);
}

Excitation::Excitation(const Body& body, const Source& source, const Modes& modes)
    : modes_(&modes), medium_(modes.count() - 1)
{
  multipole_.fill(Ball(0.0, modes.bits()));
  if (const auto* wave = std::get_if<PlaneWave>(&source)) {
    start_wave(body, *wave);
    return;
  }
  const auto* line = std::get_if<LineSource>(&source);
  const geometry::Point position =
      line != nullptr ? line->position : std::get<Dipole>(source).position;
  radius_ = distance(body.centre, position);
  medium_ = medium_at(body, radius_);
  const std::complex<double> eps_r =
      medium_ < body.layers.size() ? body.layers[medium_].eps_r : body.eps_outside;
  lossless_ = eps_r.imag() == 0.0;
  place_ = polar(displacement(body.centre, position, modes.bits()));
  at_.emplace(modes.k(medium_) * place_->radius);
  if (line != nullptr) {
    start_line();
  } else {
    start_dipole(std::get<Dipole>(source));
  }
}

// |E| = 1 V/m: psi = 1 (TMz) or 1/eta = k/(omega mu0) = omega eps0/(p k) (TEz).
void Excitation::start_wave(const Body& body, const PlaneWave& wave)
{
  const Ball& k = modes_->k(medium_);
  towards_ = direction(wave.direction, modes_->bits());
  const Ball strength = modes_->polarisation() == Polarisation::tmz
                            ? Ball(1.0, modes_->bits())
                            : modes_->omega_kappa() / (modes_->weight(medium_) * k);
  const Ball axis = displacement({}, body.centre, modes_->bits());
  amplitude_ = strength * exp(turned(k * along(axis, towards_), -1));
}

void Excitation::start_line()
{
  multipole_[1] = -quarter(modes_->omega_kappa() / modes_->weight(medium_));
}

void Excitation::start_dipole(const Dipole& dipole)
{
  is_dipole_ = true;
  moment_ = direction(dipole.direction, modes_->bits());
  const Ball eighth = quarter(modes_->k(medium_)) / Ball(2.0, modes_->bits());
  multipole_[2] = -(eighth * conj(moment_));
  multipole_[0] = -(eighth * moment_);
}

Ball Excitation::regular(long n)
{
  if (is_wave()) {
    return amplitude_ * turned(power(towards_, -n), -n);
  }
  Ball sum(0.0, modes_->bits());
  for (long l = -1; l <= 1; ++l) {
    const Ball& c = multipole_.at(static_cast<std::size_t>(l + 1));
    if (!c.is_exact_zero()) {
      sum = sum + c * at_->h(n - l) * power(place_->unit, l - n);
    }
  }
  return sum;
}

Ball Excitation::outgoing(long n)
{
  Ball sum(0.0, modes_->bits());
  if (is_wave()) {
    return sum;
  }
  for (long l = -1; l <= 1; ++l) {
    const Ball& c = multipole_.at(static_cast<std::size_t>(l + 1));
    if (!c.is_exact_zero()) {
      sum = sum + c * at_->j(n - l) * power(place_->unit, l - n);
    }
  }
  return sum;
}

// (d/dx + j d/dy) C_l exp(j l phi) = -k C_(l+1) exp(j (l+1) phi) and
// (d/dx - j d/dy) C_l exp(j l phi) = k C_(l-1) exp(j (l-1) phi), from DLMF 10.6.2.
Gradient Excitation::own_field(const Ball& place) const
{
  const Ball& k = modes_->k(medium_);
  if (is_wave()) {
    const Ball psi = amplitude_ * exp(turned(k * along(place, towards_), -1));
    const Ball slope = turned(k * psi, -1);
    return {psi, slope * real(towards_), slope * imag(towards_)};
  }
  const Ball apart = place - place_->radius * place_->unit;
  if (apart.log2_size() < place_->radius.log2_size() - 100.0 || apart.is_exact_zero()) {
    throw std::invalid_argument(
        "a point is the source itself, where the field is infinite");
  }
  const Polar from_source = polar(apart);
  BesselSequence at(k * from_source.radius);
  const Ball zero(0.0, modes_->bits());
  Ball psi = zero;
  Ball plus = zero;
  Ball minus = zero;
  for (long l = -1; l <= 1; ++l) {
    const Ball& c = multipole_.at(static_cast<std::size_t>(l + 1));
    if (!c.is_exact_zero()) {
      psi = psi + c * at.h(l) * power(from_source.unit, l);
      plus = plus - k * c * at.h(l + 1) * power(from_source.unit, l + 1);
      minus = minus + k * c * at.h(l - 1) * power(from_source.unit, l - 1);
    }
  }
  const Ball two(2.0, modes_->bits());
  return {psi, (plus + minus) / two, turned(plus - minus, -1) / two};
}

// H_l(z) -> sqrt(2j/(pi z)) j^l exp(-j z) (DLMF 10.17.6), R -> r - (r_s . unit).
Ball Excitation::own_far_amplitude(const Ball& unit) const
{
  Ball sum(0.0, modes_->bits());
  if (is_wave()) {
    return sum;
  }
  for (long l = -1; l <= 1; ++l) {
    const Ball& c = multipole_.at(static_cast<std::size_t>(l + 1));
    sum = sum + turned(c * power(unit, l), l);
  }
  const Ball ahead = place_->radius * along(place_->unit, unit);
  return sum * exp(turned(modes_->k(medium_) * ahead, 1));
}

// The finite part of Re H_0(k R) as R -> 0 is 1 + (2/pi) arg k (DLMF 10.8.2: H_0 -> 1 - j
// (2/pi)(ln(k R/2) + gamma)); a line delivers (omega kappa/(8 p)) times this, where p is
// real or 1. Of a dipole in a lossless medium the field at its place along itself is half
// of that of a line, -(omega mu0/8) P with omega mu0 = k^2 p/(omega eps0).
std::optional<Ball> Excitation::own_power() const
{
  if (is_wave() || (!lossless_ && modes_->polarisation() == Polarisation::tez)) {
    return std::nullopt;
  }
  const long bits = modes_->bits();
  const Ball& k = modes_->k(medium_);
  const Ball& p = modes_->weight(medium_);
  const Ball finite_part = Ball(1.0, bits) + 2 * arg(k) / pi(bits);
  if (is_dipole_) {
    return real(k * k) * p / modes_->omega_kappa() / Ball(16.0, bits) * finite_part;
  }
  return quarter(modes_->omega_kappa() / p) / Ball(2.0, bits) * finite_part;
}

// Line: -(1/2) Re psi (psi is E or H). Dipole: E = (p/(j omega eps0)) (d/dy, -d/dx) psi.
Ball Excitation::power_against(const Gradient& field) const
{
  const Ball half(0.5, modes_->bits());
  if (!is_dipole_) {
    return -(half * real(field.psi));
  }
  const Ball e_along = field.ddy * real(moment_) - field.ddx * imag(moment_);
  return -(half *
           real(turned(modes_->weight(medium_) * e_along, -1) / modes_->omega_kappa()));
}

}  // namespace torsowave::solver::cylinder
