// Derivation. With exp(+j omega t), curl E = -j omega mu0 H gives H_phi = E_z'/(j omega
// mu0), the prime being d/drho, and the outward flux S_rho = -(1/2) Re(E_z H_phi*) =
// Im(E_z E_z'*)/(2 omega mu0). The line source and the addition theorem (DLMF 10.23.7 for
// H^(2)) give for rho > rho_s in the innermost medium
//   E_z = A0 sum_n eps_n [J_n(k rho_s) H_n(k rho) + B_n J_n(k rho)] cos n(phi - phi_s).
// Outside only H_n(k rho) goes outward. Starting there with (B, C) = (0, 1), E_z and E_z'
// at each interface give (B, C) of the next medium inward through the Wronskian; the
// whole mode is then scaled so that C = J_n(k rho_s) in the innermost layer.

#include "published/reference_cylinder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>

#include "materials/constants.hpp"
#include "published/arb_bessel.hpp"

namespace torsowave::reference {
namespace {

using std::numbers::pi;
using Complex = std::complex<double>;

double omega_mu(double frequency)
{
  return materials::two_pi * frequency * materials::vacuum_permeability;
}

/// C_(-n) = (-1)^n C_n for integer n (DLMF 10.4.1, 10.4.2).
double order_sign(int n)
{
  return n < 0 && n % 2 != 0 ? -1.0 : 1.0;
}

std::size_t order_magnitude(int n)
{
  return static_cast<std::size_t>(std::abs(n));
}

/// eps_n of the cosine series.
Ball neumann_factor(std::size_t n)
{
  return Ball(n == 0 ? 1.0 : 2.0);
}

/// Sums `term(n)` times `angular(n)`, n = 0, 1, ..., until several terms in a row no
/// longer count. `reference` is the size of what the sum will be added to: a part of
/// 1e-20 of it never counts.
template <typename Term, typename Angular>
Complex converged_sum(double reference, Term term, Angular angular)
{
  constexpr std::size_t most_terms = 3000;
  constexpr int quiet_terms = 6;
  Ball sum;
  double largest = reference;
  int quiet = 0;
  for (std::size_t n = 0; n < most_terms; ++n) {
    const Ball amplitude = term(n);
    const double size = std::abs(amplitude.middle());
    sum = sum + amplitude * angular(n);
    largest = std::max(largest, size);
    const bool counts = size > 1e-17 * std::abs(sum.middle()) &&
                        size > 1e-20 * reference && size > 1e-40 * largest;
    quiet = counts ? 0 : quiet + 1;
    if (quiet == quiet_terms) {
      if (sum.radius() > 1e-20 * largest) {
        throw std::runtime_error("mode sum: the error bound is too wide");
      }
      return sum.middle();
    }
  }
  throw std::runtime_error(
      fmt::format("mode sum: not converged after {} terms", most_terms));
}

/// The same without an angular factor.
template <typename Term>
Complex converged_sum(double reference, Term term)
{
  return converged_sum(reference, term, [](std::size_t) { return Ball(1.0); });
}

}  // namespace

Complex bessel_j(int n, Complex z)
{
  return order_sign(n) * BesselSequence(z).j(order_magnitude(n)).value.middle();
}

Complex bessel_j_derivative(int n, Complex z)
{
  return order_sign(n) * BesselSequence(z).j(order_magnitude(n)).slope.middle();
}

Complex hankel2(int n, Complex z)
{
  return order_sign(n) * BesselSequence(z).h(order_magnitude(n)).value.middle();
}

Complex hankel2_derivative(int n, Complex z)
{
  return order_sign(n) * BesselSequence(z).h(order_magnitude(n)).slope.middle();
}

Complex wavenumber(Complex eps_r, double frequency)
{
  const Complex root = std::sqrt(eps_r);
  return materials::two_pi * frequency / materials::speed_of_light *
         (root.imag() > 0.0 ? -root : root);
}

Complex line_source_field(Complex eps_r, double frequency, double rho)
{
  return -0.25 * omega_mu(frequency) * hankel2(0, wavenumber(eps_r, frequency) * rho);
}

// H_0(z) -> 1 - j (2/pi)(ln(z/2) + gamma) as z -> 0 (DLMF 10.8.2), so with ln z = ln|z| +
// j arg z Re H_0 -> 1 + (2/pi) arg k, and P = -(1/2) Re(E_z I*).
double line_source_power(Complex eps_r, double frequency)
{
  const double angle = std::arg(wavenumber(eps_r, frequency));
  return 0.125 * omega_mu(frequency) * (1.0 + 2.0 / pi * angle);
}

/// The mode coefficients, found when first asked for, and the sums over them.
class LayeredCylinder::Modes {
public:
  Modes(std::vector<CylinderLayer> layers, Complex eps_outside, double frequency,
        double source_radius, double source_angle);

  [[nodiscard]] Complex field(double rho, double phi);
  [[nodiscard]] Complex radial_derivative(double rho, double phi);
  [[nodiscard]] double radiation_intensity(double phi);
  [[nodiscard]] double radiated_power();
  [[nodiscard]] double power_through(double radius);
  [[nodiscard]] double absorbed_power(std::size_t layer);
  [[nodiscard]] double source_power();

private:
  struct Coefficients {
    std::vector<Ball> regular;   ///< B of J_n, one per medium, outermost last
    std::vector<Ball> outgoing;  ///< C of H_n
  };

  [[nodiscard]] std::size_t medium_at(double rho) const;
  [[nodiscard]] Coefficients solve(std::size_t n);
  [[nodiscard]] const Coefficients& mode(std::size_t n);
  /// B J_n + C H_n and its derivative d/drho at radius `z/k_m`.
  [[nodiscard]] ValueAndSlope radial(std::size_t m, const Ball& regular,
                                     const Ball& outgoing, BesselSequence& at,
                                     std::size_t n) const;
  /// What the boundaries add to the line source in the innermost layer, all elsewhere.
  [[nodiscard]] ValueAndSlope series_part(std::size_t m, BesselSequence& at,
                                          std::size_t n);
  [[nodiscard]] ValueAndSlope whole_mode(double rho, BesselSequence& at, std::size_t n);
  template <Ball ValueAndSlope::*part>
  [[nodiscard]] Complex series(double rho, double phi);
  /// The sequence at k_m rho, kept for the next point of the same circle.
  [[nodiscard]] BesselSequence& sequence_at(double rho);
  [[nodiscard]] Ball angular(std::size_t n, double phi) const;
  [[nodiscard]] double distance_to_source(double rho, double phi) const;
  void require_lossless_outside() const;

  std::vector<CylinderLayer> layers_;
  Complex eps_outside_;
  double frequency_;
  double source_radius_;
  double source_angle_;
  std::vector<Complex> k_;             ///< per medium, outermost last
  std::vector<BesselSequence> inner_;  ///< at k_m a_m
  std::vector<BesselSequence> outer_;  ///< at k_(m+1) a_m
  BesselSequence at_source_;           ///< at k_0 rho_s
  std::vector<Coefficients> modes_;
  std::optional<std::pair<double, BesselSequence>> last_;
};

namespace {

void require(bool ok, const std::string& message)
{
  if (!ok) {
    throw std::invalid_argument(message);
  }
}

Complex innermost_argument(const std::vector<CylinderLayer>& layers, double frequency,
                           double source_radius)
{
  require(!layers.empty(), "a layered cylinder needs a layer");
  return wavenumber(layers.front().eps_r, frequency) * source_radius;
}

}  // namespace

LayeredCylinder::Modes::Modes(std::vector<CylinderLayer> layers, Complex eps_outside,
                              double frequency, double source_radius, double source_angle)
    : layers_(std::move(layers)),
      eps_outside_(eps_outside),
      frequency_(frequency),
      source_radius_(source_radius),
      source_angle_(source_angle),
      at_source_(innermost_argument(layers_, frequency, source_radius))
{
  require(frequency > 0.0, fmt::format("frequency [Hz] must be > 0, got {}", frequency));
  require(
      source_radius >= 0.0 && source_radius < layers_.front().outer_radius,
      fmt::format("the source at {} m must lie in the innermost layer", source_radius));
  double inner_radius = 0.0;
  for (const CylinderLayer& layer : layers_) {
    require(layer.outer_radius > inner_radius, "the radii of the layers must rise");
    require(layer.eps_r.imag() <= 0.0, "a layer has gain");
    inner_radius = layer.outer_radius;
    k_.push_back(wavenumber(layer.eps_r, frequency));
  }
  require(eps_outside.imag() <= 0.0, "the outer medium has gain");
  k_.push_back(wavenumber(eps_outside, frequency));
  for (std::size_t m = 0; m < layers_.size(); ++m) {
    inner_.emplace_back(k_[m] * layers_[m].outer_radius);
    outer_.emplace_back(k_[m + 1] * layers_[m].outer_radius);
  }
}

std::size_t LayeredCylinder::Modes::medium_at(double rho) const
{
  std::size_t m = 0;
  while (m < layers_.size() && rho > layers_[m].outer_radius) {
    ++m;
  }
  return m;
}

ValueAndSlope LayeredCylinder::Modes::radial(std::size_t m, const Ball& regular,
                                             const Ball& outgoing, BesselSequence& at,
                                             std::size_t n) const
{
  const auto [j, dj] = at.j(n);
  const auto [h, dh] = at.h(n);
  return {regular * j + outgoing * h, Ball(k_[m]) * (regular * dj + outgoing * dh)};
}

LayeredCylinder::Modes::Coefficients LayeredCylinder::Modes::solve(std::size_t n)
{
  const std::size_t count = k_.size();
  Coefficients result{std::vector<Ball>(count), std::vector<Ball>(count)};
  result.outgoing.back() = Ball(1.0);
  for (std::size_t m = count - 1; m-- > 0;) {
    const ValueAndSlope field =
        radial(m + 1, result.regular[m + 1], result.outgoing[m + 1], outer_[m], n);
    const auto [j, j_slope] = inner_[m].j(n);
    const auto [h, h_slope] = inner_[m].h(n);
    const Ball k(k_[m]);
    const Ball dj = k * j_slope;
    const Ball dh = k * h_slope;
    const Ball wronskian = j * dh - dj * h;
    result.regular[m] = (field.value * dh - field.slope * h) / wronskian;
    result.outgoing[m] = (field.slope * j - field.value * dj) / wronskian;
  }
  const Ball scale = at_source_.j(n).value / result.outgoing.front();
  for (std::size_t m = 0; m < count; ++m) {
    result.regular[m] = result.regular[m] * scale;
    result.outgoing[m] = result.outgoing[m] * scale;
  }
  return result;
}

const LayeredCylinder::Modes::Coefficients& LayeredCylinder::Modes::mode(std::size_t n)
{
  while (modes_.size() <= n) {
    modes_.push_back(solve(modes_.size()));
  }
  return modes_[n];
}

ValueAndSlope LayeredCylinder::Modes::series_part(std::size_t m, BesselSequence& at,
                                                  std::size_t n)
{
  const Coefficients& here = mode(n);
  if (m > 0) {
    return radial(m, here.regular[m], here.outgoing[m], at, n);
  }
  const auto [j, dj] = at.j(n);
  return {here.regular[0] * j, Ball(k_[0]) * here.regular[0] * dj};
}

ValueAndSlope LayeredCylinder::Modes::whole_mode(double rho, BesselSequence& at,
                                                 std::size_t n)
{
  const std::size_t m = medium_at(rho);
  const Coefficients& here = mode(n);
  if (rho >= source_radius_) {
    return radial(m, here.regular[m], here.outgoing[m], at, n);
  }
  const Ball regular = here.regular[0] + at_source_.h(n).value;
  const auto [j, dj] = at.j(n);
  return {regular * j, Ball(k_[0]) * regular * dj};
}

Ball LayeredCylinder::Modes::angular(std::size_t n, double phi) const
{
  return cos(Ball(static_cast<double>(n)) * (Ball(phi) - Ball(source_angle_)));
}

template <Ball ValueAndSlope::*part>
Complex LayeredCylinder::Modes::series(double rho, double phi)
{
  const std::size_t m = medium_at(rho);
  BesselSequence& at = sequence_at(rho);
  const double incident =
      m == 0 ? std::abs(hankel2(0, k_[0] * layers_[0].outer_radius)) : 0.0;
  const Complex sum = converged_sum(
      incident,
      [&](std::size_t n) { return neumann_factor(n) * (series_part(m, at, n).*part); },
      [&](std::size_t n) { return angular(n, phi); });
  return -0.25 * omega_mu(frequency_) * sum;
}

BesselSequence& LayeredCylinder::Modes::sequence_at(double rho)
{
  if (!last_ || last_->first != rho) {
    last_.emplace(rho, BesselSequence(k_[medium_at(rho)] * rho));
  }
  return last_->second;
}

double LayeredCylinder::Modes::distance_to_source(double rho, double phi) const
{
  const double half = std::sin(0.5 * (phi - source_angle_));
  return std::hypot(rho - source_radius_, 2.0 * half * std::sqrt(rho * source_radius_));
}

Complex LayeredCylinder::Modes::field(double rho, double phi)
{
  const Complex sum = series<&ValueAndSlope::value>(rho, phi);
  if (medium_at(rho) > 0) {
    return sum;
  }
  return sum + line_source_field(layers_.front().eps_r, frequency_,
                                 distance_to_source(rho, phi));
}

// d/drho of A0 H_0(k R): -A0 k H_1(k R) dR/drho, dR/drho = (rho - rho_s cos(phi -
// phi_s))/R.
Complex LayeredCylinder::Modes::radial_derivative(double rho, double phi)
{
  const Complex sum = series<&ValueAndSlope::slope>(rho, phi);
  if (medium_at(rho) > 0) {
    return sum;
  }
  const double distance = distance_to_source(rho, phi);
  const double slope = (rho - source_radius_ * std::cos(phi - source_angle_)) / distance;
  return sum + 0.25 * omega_mu(frequency_) * k_[0] * hankel2(1, k_[0] * distance) * slope;
}

void LayeredCylinder::Modes::require_lossless_outside() const
{
  if (eps_outside_.imag() != 0.0) {
    throw std::domain_error("a far field needs a lossless outer medium");
  }
}

// H_n(z) -> sqrt(2j/(pi z)) j^n exp(-j z) (DLMF 10.17.6), and eta k = omega mu0.
double LayeredCylinder::Modes::radiation_intensity(double phi)
{
  require_lossless_outside();
  constexpr std::array<Complex, 4> powers{
      Complex{1.0, 0.0}, {0.0, 1.0}, {-1.0, 0.0}, {0.0, -1.0}};
  const Complex sum = converged_sum(
      0.0,
      [&](std::size_t n) {
        return neumann_factor(n) * Ball(powers[n % 4]) * mode(n).outgoing.back();
      },
      [&](std::size_t n) { return angular(n, phi); });
  return omega_mu(frequency_) / (16.0 * pi) * std::norm(sum);
}

double LayeredCylinder::Modes::radiated_power()
{
  require_lossless_outside();
  const Complex sum = converged_sum(0.0, [&](std::size_t n) {
    const Ball& outgoing = mode(n).outgoing.back();
    return neumann_factor(n) * outgoing * conj(outgoing);
  });
  return 0.125 * omega_mu(frequency_) * sum.real();
}

// Integral of S_rho over the circle: (pi rho/(omega mu0)) |A0|^2 sum_n eps_n Im(e_n
// e_n'*), since the integral of eps_n^2 cos^2 n phi is 2 pi eps_n.
double LayeredCylinder::Modes::power_through(double radius)
{
  require(radius > 0.0 && radius != source_radius_,
          fmt::format("no flux is defined through the circle of radius {} m", radius));
  BesselSequence& at = sequence_at(radius);
  const Complex sum = converged_sum(0.0, [&](std::size_t n) {
    const auto [value, slope] = whole_mode(radius, at, n);
    return neumann_factor(n) * value * conj(slope);
  });
  return omega_mu(frequency_) * pi * radius / 16.0 * sum.imag();
}

double LayeredCylinder::Modes::absorbed_power(std::size_t layer)
{
  const double entering =
      layer == 0 ? source_power() : power_through(layers_.at(layer - 1).outer_radius);
  return entering - power_through(layers_.at(layer).outer_radius);
}

double LayeredCylinder::Modes::source_power()
{
  const Complex sum = converged_sum(1.0, [&](std::size_t n) {
    return neumann_factor(n) * mode(n).regular.front() * at_source_.j(n).value;
  });
  return line_source_power(layers_.front().eps_r, frequency_) +
         0.125 * omega_mu(frequency_) * sum.real();
}

LayeredCylinder::LayeredCylinder(std::vector<CylinderLayer> layers, Complex eps_outside,
                                 double frequency, double source_radius,
                                 double source_angle)
    : modes_(std::make_unique<Modes>(std::move(layers), eps_outside, frequency,
                                     source_radius, source_angle))
{
}

LayeredCylinder::~LayeredCylinder() = default;
LayeredCylinder::LayeredCylinder(LayeredCylinder&&) noexcept = default;
LayeredCylinder& LayeredCylinder::operator=(LayeredCylinder&&) noexcept = default;

Complex LayeredCylinder::field(double rho, double phi) const
{
  return modes_->field(rho, phi);
}

Complex LayeredCylinder::radial_derivative(double rho, double phi) const
{
  return modes_->radial_derivative(rho, phi);
}

double LayeredCylinder::radiation_intensity(double phi) const
{
  return modes_->radiation_intensity(phi);
}

double LayeredCylinder::radiated_power() const
{
  return modes_->radiated_power();
}

double LayeredCylinder::power_through(double radius) const
{
  return modes_->power_through(radius);
}

double LayeredCylinder::absorbed_power(std::size_t layer) const
{
  return modes_->absorbed_power(layer);
}

double LayeredCylinder::source_power() const
{
  return modes_->source_power();
}

}  // namespace torsowave::reference
