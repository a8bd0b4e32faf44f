#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "materials/constants.hpp"
#include "solver/cylinder_modes_internal.hpp"

namespace torsowave::solver::cylinder {
namespace {

/// psi and (dpsi/drho)/k.
struct Trace {
  Ball value;
  Ball slope;
};

Trace trace(const Pair& pair, BesselSequence& at, long n)
{
  return {pair.j * at.j(n) + pair.h * at.h(n),
          pair.j * at.j_slope(n) + pair.h * at.h_slope(n)};
}

/// The pair with this trace.
Pair matched(const Trace& trace, BesselSequence& at, long n)
{
  const long bits = at.argument().bits();
  const Ball inverse_w =
      turned(pi(bits) * at.argument(), 1) / Ball(2.0, bits);  // j pi z/2
  return {(trace.value * at.h_slope(n) - trace.slope * at.h(n)) * inverse_w,
          (trace.slope * at.j(n) - trace.value * at.j_slope(n)) * inverse_w};
}

/// (omega/c) sqrt(eps_r) with Im <= 0.
Ball wavenumber(std::complex<double> eps_r, double frequency, long bits)
{
  const Ball root = sqrt(Ball(eps_r, bits));
  const bool flip = eps_r.imag() == 0.0 && eps_r.real() < 0.0;
  return 2 * pi(bits) * Ball(frequency, bits) * (flip ? -root : root) /
         Ball(materials::speed_of_light, bits);
}

}  // namespace

Modes::Modes(const Body& body, Polarisation polarisation, double frequency, long bits)
    : bits_(bits), polarisation_(polarisation)
{
  const Ball one(1.0, bits);
  const auto add_medium = [&](std::complex<double> eps_r) {
    k_.push_back(wavenumber(eps_r, frequency, bits));
    p_.push_back(polarisation == Polarisation::tmz ? one : one / Ball(eps_r, bits));
  };
  for (const Layer& layer : body.layers) {
    add_medium(layer.eps_r);
  }
  add_medium(body.eps_outside);
  omega_kappa_ = 2 * pi(bits) * Ball(frequency, bits) *
                 Ball(polarisation == Polarisation::tmz ? materials::vacuum_permeability
                                                        : materials::vacuum_permittivity,
                      bits);
  double largest = 0.0;
  const auto add_edge = [&](std::vector<BesselSequence>& edges, std::size_t medium,
                            double radius) {
    const Ball z = k_[medium] * Ball(radius, bits);
    largest = std::max(largest, std::exp2(z.log2_size()));
    edges.emplace_back(z);
  };
  if (body.conductor_radius > 0.0) {
    add_edge(core_, 0, body.conductor_radius);
  }
  for (std::size_t m = 0; m < body.layers.size(); ++m) {
    add_edge(inside_, m, body.layers[m].outer_radius);
    add_edge(outside_, m + 1, body.layers[m].outer_radius);
  }
  settled_ = static_cast<long>(std::ceil(largest)) + 2;
}

// TMz: psi = 0. TEz: dpsi/drho = 0.
Pair Modes::on_conductor(long n)
{
  BesselSequence& at = core_.front();
  const Ball ratio = polarisation_ == Polarisation::tmz ? at.j(n) / at.h(n)
                                                        : at.j_slope(n) / at.h_slope(n);
  return {Ball(1.0, bits_), -ratio};
}

Order Modes::solve(long n)
{
  const std::size_t last = count() - 1;
  const Ball zero(0.0, bits_);
  const Ball one(1.0, bits_);
  Order order{std::vector<Pair>(count()), std::vector<Pair>(count()), {}};
  order.inner[0] = core_.empty() ? Pair{one, zero} : on_conductor(n);
  order.outer[last] = {zero, one};
  const auto cross = [&](const Pair& from, std::size_t from_medium, BesselSequence& here,
                         std::size_t to_medium, BesselSequence& there) {
    Trace at_edge = trace(from, here, n);
    at_edge.slope = at_edge.slope * (p_[from_medium] * k_[from_medium]) /
                    (p_[to_medium] * k_[to_medium]);
    return matched(at_edge, there, n);
  };
  for (std::size_t m = 0; m < last; ++m) {
    order.inner[m + 1] = cross(order.inner[m], m, inside_[m], m + 1, outside_[m]);
  }
  for (std::size_t m = last; m-- > 0;) {
    order.outer[m] = cross(order.outer[m + 1], m + 1, outside_[m], m, inside_[m]);
  }
  order.wronskian = p_[last] * order.inner[last].j;
  return order;
}

const Order& Modes::order(long n)
{
  const auto magnitude = static_cast<std::size_t>(std::abs(n));
  while (orders_.size() <= magnitude) {
    orders_.push_back(solve(static_cast<long>(orders_.size())));
  }
  return orders_[magnitude];
}

}  // namespace torsowave::solver::cylinder
