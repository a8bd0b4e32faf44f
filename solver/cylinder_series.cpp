#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "solver/cylinder_series_internal.hpp"

namespace torsowave::solver::cylinder {
namespace {

constexpr double nothing = -std::numeric_limits<double>::infinity();
constexpr long most_orders = 30'000;

/// Of order n in a list of the orders 0, -1, 1, -2, 2, ...
std::size_t slot(long n)
{
  return static_cast<std::size_t>(n < 0 ? -2 * n - 1 : 2 * n);
}

long order_of(std::size_t slot)
{
  const auto half = static_cast<long>((slot + 1) / 2);
  return slot % 2 == 1 ? -half : half;
}

double log2_of_ratio(double smaller, double larger)
{
  return std::log2(smaller / larger);
}

[[noreturn]] void refuse()
{
  throw AccuracyNotAttained(fmt::format(
      "the sum over the orders of the layered cylinder needs more than {} terms: the "
      "source or the point is too near to an interface, or the circle too near to the "
      "source; move it by a thousandth of the radius",
      most_orders));
}

Size size_of(const Ball& value)
{
  return {value.log2_size(), value.log2_least()};
}

Size larger(Size a, Size b)
{
  return {std::max(a.log2_most, b.log2_most), std::max(a.log2_least, b.log2_least)};
}

Size product(Size a, Size b)
{
  return {a.log2_most + b.log2_most, a.log2_least + b.log2_least};
}

/// Of the sum of two terms, but for cancellation.
Size twice(Size size)
{
  return {size.log2_most + 1.0, size.log2_least};
}

/// sum_n c_n unit^n.
Ball circle_sum(const std::vector<Ball>& c, const Ball& unit)
{
  const Ball back = conj(unit);
  Ball ahead_sum(0.0, unit.bits());
  Ball back_sum = ahead_sum;
  for (std::size_t n = c.size() / 2; n > 0; --n) {
    ahead_sum = (ahead_sum + c[2 * n]) * unit;
    back_sum = (back_sum + c[2 * n - 1]) * back;
  }
  return c[0] + ahead_sum + back_sum;
}

}  // namespace

Remainder::Remainder(long settled, double log2_ratio, double depth)
    : settled_(settled),
      ratio_(log2_ratio),
      depth_(depth),
      last_(nothing),
      most_(nothing),
      largest_(nothing),
      bound_(std::numeric_limits<double>::infinity())
{
  if (depth > -log2_ratio * static_cast<double>(most_orders)) {
    refuse();  // rather now than after all of them
  }
}

bool Remainder::may_end(Size term)
{
  const double log2_term = term.log2_most;
  if (!(log2_term < std::numeric_limits<double>::infinity())) {
    return true;  // nothing is known of this term: the bound stays infinite
  }
  const double ratio = log2_term == nothing ? nothing : log2_term - last_;
  const double steepest = std::max({ratio_, ratio, last_ratio_});
  last_ratio_ = ratio;
  last_ = log2_term;
  most_ = std::max(most_, term.log2_most);
  largest_ = std::max(largest_, term.log2_least);
  if (n_ >= most_orders) {
    refuse();
  }
  if (++n_ <= settled_ || steepest >= 0.0) {
    return false;
  }
  bound_ = log2_term == nothing
               ? nothing
               : log2_term + steepest - std::log2(1.0 - std::exp2(steepest));
  return bound_ <= most_ - depth_;
}

Series::Series(Body body, Polarisation polarisation, double frequency,
               const Source& source, long bits, double depth)
    : body_(std::move(body)),
      modes_(body_, polarisation, frequency, bits),
      excitation_(body_, source, modes_),
      depth_(depth),
      coefficients_(modes_.count())
{
}

Pair Series::solve(std::size_t medium, long n)
{
  const std::size_t s = excitation_.medium();
  const Order& order = modes_.order(n);
  const Pair& inner = order.inner[s];
  const Pair& outer = order.outer[s];
  const Ball zero(0.0, modes_.bits());
  const Ball scale = modes_.weight(s) / order.wronskian;
  const bool needs_regular = medium < s || !inner.h.is_exact_zero();
  const Ball from_regular = needs_regular ? scale * excitation_.regular(n) : zero;
  const Ball from_outgoing = scale * excitation_.outgoing(n);
  if (medium == s) {
    const Ball reflected = inner.h * from_regular;
    return {outer.j * (inner.j * from_outgoing + reflected),
            inner.h * outer.j * from_outgoing + outer.h * reflected};
  }
  const Ball amplitude = medium > s ? inner.j * from_outgoing + inner.h * from_regular
                                    : outer.j * from_outgoing + outer.h * from_regular;
  const Pair& shape = medium > s ? order.outer[medium] : order.inner[medium];
  return {amplitude * shape.j, amplitude * shape.h};
}

const Pair& Series::coefficients(std::size_t medium, long n)
{
  std::vector<Pair>& known = coefficients_[medium];
  while (known.size() <= slot(n)) {
    known.push_back(solve(medium, order_of(known.size())));
  }
  return known[slot(n)];
}

Pair Series::whole(std::size_t medium, long n, double radius)
{
  Pair pair = coefficients(medium, n);
  if (medium != excitation_.medium()) {
    return pair;
  }
  if (excitation_.is_wave() || radius < excitation_.radius()) {
    pair.j = pair.j + excitation_.regular(n);
  } else {
    pair.h = pair.h + excitation_.outgoing(n);
  }
  return pair;
}

// For n far above every |k rho| fields are static, a term (rho_</rho_>)^n directly and
// with the distances of the images in the circles a (outside) and b (inside).
double Series::log2_ratio(double radius) const
{
  if (excitation_.is_wave()) {
    return nothing;
  }
  const double source = excitation_.radius();
  const std::size_t m = medium_at(body_, radius);
  if (m != excitation_.medium()) {
    return log2_of_ratio(std::min(radius, source), std::max(radius, source));
  }
  const double inner_edge =
      m == 0 ? body_.conductor_radius : body_.layers[m - 1].outer_radius;
  double ratio = nothing;
  if (inner_edge > 0.0) {
    ratio = log2_of_ratio(inner_edge, radius) + log2_of_ratio(inner_edge, source);
  }
  if (m < body_.layers.size()) {
    const double outer_edge = body_.layers[m].outer_radius;
    ratio = std::max(
        ratio, log2_of_ratio(radius, outer_edge) + log2_of_ratio(source, outer_edge));
  }
  return ratio;
}

Series::Circle Series::circle(const Ball& radius_ball, double radius)
{
  const std::size_t m = medium_at(body_, radius);
  const Ball& k = modes_.k(m);
  const Ball zero(0.0, modes_.bits());
  BesselSequence at(k * radius_ball);
  Remainder psi(modes_.settled(), log2_ratio(radius), depth_);
  Remainder slope = psi;
  Circle result;
  result.radius = radius_ball;
  const auto add = [&](long n) {  // in the order 0, -1, 1, -2, 2, ...
    const Pair& pair = coefficients(m, n);
    const auto combination = [&](long order) {
      const Ball j_part = pair.j.is_exact_zero() ? zero : pair.j * at.j(order);
      return pair.h.is_exact_zero() ? j_part : j_part + pair.h * at.h(order);
    };
    result.psi.push_back(combination(n));
    result.plus.push_back(-(k * combination(n + 1)));
    result.minus.push_back(k * combination(n - 1));
    return std::array{size_of(result.psi.back()),
                      larger(size_of(result.plus.back()), size_of(result.minus.back()))};
  };
  std::array<Size, 2> sizes = add(0);
  for (long n = 1;; ++n) {
    const bool psi_may_end = psi.may_end(sizes[0]);
    const bool slope_may_end = slope.may_end(sizes[1]);
    if (psi_may_end && slope_may_end) {
      break;
    }
    const auto below = add(-n);
    const auto above = add(n);
    sizes = {twice(larger(below[0], above[0])), twice(larger(below[1], above[1]))};
  }
  result.log2_psi_rest = psi.log2_bound();
  result.log2_slope_rest = slope.log2_bound();
  result.log2_psi = psi.log2_largest();
  result.log2_slope = slope.log2_largest();
  return result;
}

Series::Point Series::series_at(const Polar& place, double radius)
{
  if (!circle_ || !circle_->radius.is_same(place.radius)) {
    circle_ = circle(place.radius, radius);
  }
  Ball psi = circle_sum(circle_->psi, place.unit);
  Ball plus = place.unit * circle_sum(circle_->plus, place.unit);
  Ball minus = conj(place.unit) * circle_sum(circle_->minus, place.unit);
  psi.widen(circle_->log2_psi_rest);
  plus.widen(circle_->log2_slope_rest);
  minus.widen(circle_->log2_slope_rest);
  const Ball two(2.0, modes_.bits());
  return {{psi, (plus + minus) / two, turned(plus - minus, -1) / two},
          circle_->log2_psi,
          circle_->log2_slope};
}

Series::Point Series::whole_at(const Polar& place, double radius)
{
  Point point = series_at(place, radius);
  if (medium_at(body_, radius) == excitation_.medium()) {
    const Gradient own = excitation_.own_field(place.radius * place.unit);
    point.field = {point.field.psi + own.psi, point.field.ddx + own.ddx,
                   point.field.ddy + own.ddy};
    point.log2_psi = std::max(point.log2_psi, own.psi.log2_least());
    point.log2_slope =
        std::max({point.log2_slope, own.ddx.log2_least(), own.ddy.log2_least()});
  }
  return point;
}

/// `term(n)` is called in the order 0, -1, 1, -2, 2, ...; it gives a value and its size
/// before any cancellation.
template <typename Term>
Sum Series::sum_over_orders(double log2_ratio, Term term)
{
  Remainder remainder(modes_.settled(), log2_ratio, depth_);
  auto [sum, size] = term(0);
  for (long n = 1; !remainder.may_end(size); ++n) {
    const auto [below, below_size] = term(-n);
    const auto [above, above_size] = term(n);
    sum = sum + below + above;
    size = twice(larger(below_size, above_size));
  }
  sum.widen(remainder.log2_bound());
  return {sum, remainder.log2_largest()};
}

// H_n(z) -> sqrt(2j/(pi z)) j^n exp(-j z) (DLMF 10.17.6).
Sum Series::far_amplitude(const Ball& unit)
{
  const std::size_t last = modes_.count() - 1;
  const Ball zero(0.0, modes_.bits());
  if (far_.empty()) {
    far_remainder_ = sum_over_orders(nothing, [&](long n) {
      far_.push_back(turned(coefficients(last, n).h, n));
      return std::pair(zero, size_of(far_.back()));
    });
  }
  Ball sum = circle_sum(far_, unit) + far_remainder_.value;
  if (excitation_.medium() == last) {
    sum = sum + excitation_.own_far_amplitude(unit);
  }
  const Ball spread =
      sqrt(turned(Ball(2.0, modes_.bits()), 1) / (pi(modes_.bits()) * modes_.k(last)));
  return {spread * sum, far_remainder_.log2_largest + spread.log2_least()};
}

// The integral of Im(psi (p dpsi/drho)*)/(2 omega kappa) over the circle: different
// orders are orthogonal.
Sum Series::flux(std::size_t medium, double radius, BesselSequence& at)
{
  const double source = excitation_.radius();
  const double ratio =
      excitation_.is_wave()
          ? nothing
          : 2.0 * log2_of_ratio(std::min(radius, source), std::max(radius, source));
  const Ball factor = pi(modes_.bits()) * Ball(radius, modes_.bits()) *
                      modes_.weight(medium) * modes_.k(medium);
  Sum sum = sum_over_orders(ratio, [&](long n) {
    const Pair pair = whole(medium, n, radius);
    const Ball psi = pair.j * at.j(n) + pair.h * at.h(n);
    const Ball slope = factor * (pair.j * at.j_slope(n) + pair.h * at.h_slope(n));
    return std::pair(imag(psi * conj(slope)), product(size_of(psi), size_of(slope)));
  });
  return {sum.value / modes_.omega_kappa(),
          sum.log2_largest - modes_.omega_kappa().log2_least()};
}

Sum Series::flux(double radius)
{
  const std::size_t m = medium_at(body_, radius);
  BesselSequence at(modes_.k(m) * Ball(radius, modes_.bits()));
  return flux(m, radius, at);
}

Sum Series::flux_at_edge(std::size_t layer)
{
  return flux(layer, body_.layers.at(layer).outer_radius, modes_.edge(layer));
}

std::optional<Sum> Series::delivered()
{
  const std::optional<Ball> own = excitation_.own_power();
  if (!own) {
    return std::nullopt;
  }
  const Point at_source = series_at(excitation_.place(), excitation_.radius());
  return Sum{*own + excitation_.power_against(at_source.field), own->log2_least()};
}

// |psi_s|^2 -> 2/(pi k rho) |sum b_n j^n exp(j n phi)|^2: (2 p/(omega kappa)) sum
// |b_n|^2.
Sum Series::scattered()
{
  const std::size_t last = modes_.count() - 1;
  const Ball factor =
      Ball(2.0, modes_.bits()) * modes_.weight(last) / modes_.omega_kappa();
  Sum sum = sum_over_orders(nothing, [&](long n) {
    const Ball& b = coefficients(last, n).h;
    const Ball square = real(b * conj(b));
    return std::pair(square, size_of(square));
  });
  return {factor * sum.value, factor.log2_least() + sum.log2_largest};
}

// Flux of the whole field through a large circle is -(2 p/(omega kappa)) sum [Re(a_n*
// b_n)
// + |b_n|^2], a_n before the incident J_n: what the first part takes is scattered or
// absorbed.
Sum Series::extinguished()
{
  const std::size_t last = modes_.count() - 1;
  const Ball factor =
      Ball(-2.0, modes_.bits()) * modes_.weight(last) / modes_.omega_kappa();
  Sum sum = sum_over_orders(nothing, [&](long n) {
    const Ball taken = conj(excitation_.regular(n)) * coefficients(last, n).h;
    return std::pair(real(taken), size_of(taken));
  });
  return {factor * sum.value, factor.log2_least() + sum.log2_largest};
}

}  // namespace torsowave::solver::cylinder
