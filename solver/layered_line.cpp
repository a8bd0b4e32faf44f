#include "solver/layered_line.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
constexpr Complex j{0.0, 1.0};

/// (1 - exp(-z))/z, 1 at z = 0, without loss of digits near it.
template <class Number>
[[nodiscard]] Number decay_mean(Number z)
{
  if (std::abs(z) > 1.0) {
    return (Number{1.0} - std::exp(-z)) / z;
  }
  Number sum{1.0};
  Number term{1.0};
  for (int n = 2; n < 25 && std::abs(term) > 1e-18; ++n) {
    term *= -z / static_cast<double>(n);
    sum += term;
  }
  return sum;
}

/// sin(x)/x.
[[nodiscard]] double sinc(double x)
{
  return std::abs(x) < 1e-4 ? 1.0 - x * x / 6.0 : std::sin(x) / x;
}

/// The fields at the distance r from `far` towards the source, times exp(-alpha r). With
/// p = exp(j beta r): exp(-alpha r) cos(k r) = p (1 + exp(-2 j k r))/2, and
/// exp(-alpha r) sin(k r)/k = p r (1 - exp(-2 j k r))/(2 j k r).
[[nodiscard]] LineFields marched(const LineMedium& medium, const LineFields& far,
                                 double r)
{
  const Complex p = std::exp(j * (medium.k.real() * r));
  const Complex twice = 2.0 * j * medium.k * r;
  const Complex cosine = 0.5 * p * (1.0 + std::exp(-twice));
  const Complex sine_by_k = p * r * decay_mean(twice);
  return {cosine * far.u + j * medium.a * sine_by_k * far.v,
          cosine * far.v + j * medium.b * sine_by_k * far.u};
}

/// Scales to a size of about 1; returns the size before.
double normalise(LineFields& fields)
{
  const double size =
      std::max(std::abs(fields.u), materials::vacuum_impedance * std::abs(fields.v));
  fields.u /= size;
  fields.v /= size;
  return size;
}

/// A wave that leaves along +s, without dividing by k.
[[nodiscard]] LineFields leaving(const LineMedium& medium)
{
  if (medium.conductor) {
    return {0.0, 1.0 / materials::vacuum_impedance};
  }
  LineFields fields{medium.k, medium.b};
  if (std::abs(medium.b) * materials::vacuum_impedance < std::abs(medium.k)) {
    fields = {medium.a, medium.k};  // the same ratio
  }
  normalise(fields);
  return fields;
}

/// Nodes and weights on (-1, 1) of Gauss and Legendre's rule with ten points; half of
/// them, the others are their mirror images. M. Abramowitz, I. A. Stegun, *Handbook of
/// Mathematical Functions*, table 25.4 (from memory, checked by the tests: a wrong digit
/// breaks the energy balance).
constexpr std::array<std::array<double, 2>, 5> gauss_legendre{
    {{0.1488743389816312, 0.2955242247147529},
     {0.4333953941292472, 0.2692667193099963},
     {0.6794095682990244, 0.2190863625159820},
     {0.8650633666889845, 0.1494513491505806},
     {0.9739065285171717, 0.0666713443086881}}};

}  // namespace

LineMedium line_medium(Complex eps, double frequency, const TransverseWave& wave)
{
  const double omega = materials::two_pi * frequency;
  const double k0 = omega / materials::speed_of_light;
  const double kt = wave.wavenumber;
  const Complex k2 = k0 * k0 * eps - kt * kt;
  const Complex mu = omega * materials::vacuum_permeability;
  const Complex y = omega * materials::vacuum_permittivity * eps;
  LineMedium medium;
  medium.k = std::sqrt(k2);
  if (medium.k.imag() > 0.0 || (medium.k.imag() == 0.0 && medium.k.real() < 0.0)) {
    medium.k = -medium.k;
  }
  const bool te = wave.polarisation == WavePolarisation::te;
  medium.a = te ? mu : k2 / y;
  medium.b = te ? k2 / mu : y;
  medium.heat = -y.imag();
  // TM: E_x = -k_t Hz/(w eps0 eps).
  medium.normal_ratio = te ? 0.0 : kt * kt / std::norm(y);
  return medium;
}

LineFields Line::Part::at(double from_start) const
{
  const LineFields local = marched(medium, far, length - from_start);
  const Complex factor = amplitude * std::exp(medium.k.imag() * from_start);
  return {factor * local.u, factor * local.v};
}

Line::Line(const std::vector<LineStretch>& stretches, const LineMedium& end)
    : end_(end), shape_(leaving(end))
{
  double start = 0.0;
  for (const LineStretch& stretch : stretches) {
    Part part;
    part.medium = stretch.medium;
    part.length = stretch.length;
    part.start = start;
    start += stretch.length;
    parts_.push_back(part);
  }
  for (std::size_t i = parts_.size(); i-- > 0;) {
    parts_[i].far = shape_;
    shape_ = marched(parts_[i].medium, parts_[i].far, parts_[i].length);
    normalise(shape_);
  }
  scale(1.0);
}

void Line::scale(Complex factor)
{
  for (Part& part : parts_) {
    LineFields near = marched(part.medium, part.far, part.length);
    part.amplitude = factor / normalise(near);
    factor = part.amplitude * std::exp(part.medium.k.imag() * part.length);
  }
  end_near_ = leaving(end_);
  end_near_.u *= factor;
  end_near_.v *= factor;
}

double Line::length() const noexcept
{
  return parts_.empty() ? 0.0 : parts_.back().start + parts_.back().length;
}

LineFields Line::at(double s) const
{
  for (const Part& part : parts_) {
    if (s < part.start + part.length) {
      return part.at(s - part.start);
    }
  }
  if (end_.conductor) {
    return {};
  }
  const Complex wave = std::exp(-j * end_.k * (s - length()));
  return {wave * end_near_.u, wave * end_near_.v};
}

/// With the waves x and y, towards and from the far face, at the distance r before it
///   |U|^2 = |x|^2 exp(2 alpha r) + |y|^2 exp(-2 alpha r) + 2 Re(x y* exp(2 j beta r)),
/// and |V|^2 |Z|^2 the same with the other sign of the last term. Where |k| times the
/// length is small the waves are large and nearly cancel; a quadrature serves there.
double Line::Part::heat(double from, double to) const
{
  const double span = to - from;
  if (medium.heat == 0.0 || span <= 0.0) {
    return 0.0;
  }
  if (std::abs(medium.k) * span < 1.0) {
    double sum = 0.0;
    for (const auto& [node, weight] : gauss_legendre) {
      for (const double side : {-node, node}) {
        const LineFields f = at(from + 0.5 * span * (1.0 + side));
        sum += weight * (std::norm(f.u) + medium.normal_ratio * std::norm(f.v));
      }
    }
    return 0.25 * medium.heat * span * sum;
  }
  const Complex admittance = medium.admittance();
  const Complex x = 0.5 * (far.u + far.v / admittance);
  const Complex y = 0.5 * (far.u - far.v / admittance);
  const double alpha = -medium.k.imag();
  const double normal = medium.normal_ratio * std::norm(admittance);
  const double mean = span * decay_mean(2.0 * alpha * span);
  const Complex turn = std::exp(j * (medium.k.real() * (2.0 * length - from - to)));
  const double single = (std::norm(x) * std::exp(-2.0 * alpha * from) +
                         std::norm(y) * std::exp(-2.0 * alpha * (2.0 * length - to))) *
                        mean;
  const double cross = 2.0 * (x * std::conj(y) * turn).real() *
                       std::exp(-2.0 * alpha * length) * span *
                       sinc(medium.k.real() * span);
  return 0.5 * medium.heat * std::norm(amplitude) *
         ((1.0 + normal) * single + (1.0 - normal) * cross);
}

double Line::heat(double from, double to) const
{
  double sum = 0.0;
  for (const Part& part : parts_) {
    const double first = std::clamp(from - part.start, 0.0, part.length);
    const double last = std::clamp(to - part.start, 0.0, part.length);
    sum += part.heat(first, last);
  }
  const double beyond = std::max(from - length(), 0.0);
  const double span = to - length() - beyond;
  if (end_.conductor || end_.heat == 0.0 || span <= 0.0) {
    return sum;
  }
  const double alpha = -end_.k.imag();
  const double squared =
      std::norm(end_near_.u) + end_.normal_ratio * std::norm(end_near_.v);
  return sum + 0.5 * end_.heat * squared * std::exp(-2.0 * alpha * beyond) *
                   (-std::expm1(-2.0 * alpha * span)) / (2.0 * alpha);
}

LineFields before_face(const LineMedium& medium, const LineFields& face, double s)
{
  const LineFields local = marched(medium, face, s);
  const double growth = std::exp(-medium.k.imag() * s);
  return {growth * local.u, growth * local.v};
}

}  // namespace torsowave::solver
