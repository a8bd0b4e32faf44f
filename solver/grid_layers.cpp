#include "solver/grid_layers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>
#include <stdexcept>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
constexpr Complex j{0.0, 1.0};

/// A wave exp(-j k x) of the grid in a uniform medium. With s = sin(k dx/2) and
/// c = cos(k dx/2) its field an edge away from a centre is c -+ j s times the field, and
/// from the law of induction -H = Y E, Y = 2 s/(Omega mu0 dx).
struct GridWave {
  Complex half;        ///< exp(-j k dx/2)
  Complex cosine;      ///< mean of E over two cells, over the wave's E at their edge
  Complex admittance;  ///< [S]
};

[[nodiscard]] GridWave grid_wave(Complex eps, const GridLayers& layers)
{
  Complex sine =
      0.5 * layers.omega * layers.cell / materials::speed_of_light * std::sqrt(eps);
  if (sine.imag() > 0.0) {
    sine = -sine;
  }
  Complex cosine = std::sqrt(1.0 - sine * sine);
  if (std::abs(cosine - j * sine) > 1.0 + 1e-12) {  // too coarse a grid for a wave
    cosine = -cosine;
  }
  return {cosine - j * sine, cosine,
          2.0 * sine / (layers.omega * materials::vacuum_permeability * layers.cell)};
}

/// E at a centre and -H at the edge beyond it, seen from the source; the flux towards the
/// far end is then 1/2 Re(mean(E) v*).
struct Pair {
  Complex e;
  Complex v;
};

/// The fields on one side of a source, marched towards it.
struct GridSide {
  std::vector<Pair> pairs;  ///< of the cells, nearest to the source first
  Complex v_near;           ///< at the edge on the source's side of the nearest cell
  Complex e_beyond;         ///< at the centre beyond the last cell

  void scale(Complex factor)
  {
    for (Pair& pair : pairs) {
      pair.e *= factor;
      pair.v *= factor;
    }
    v_near *= factor;
    e_beyond *= factor;
  }
};

/// What the equations are in cells counted away from the source, v = -+H:
///   v_edge = (E_near - E_far)/(j Omega mu0 dx),
///   v_near = v_far + j Omega eps0 eps dx E.
/// Towards the source the solution grows, so rounding does not; the size is brought back
/// to 1 before it overflows.
[[nodiscard]] GridSide march(const GridLayers& layers, std::span<const Complex> eps,
                             Complex end, bool conductor)
{
  constexpr double too_large = 1e100;
  const Complex induction =
      j * layers.omega * materials::vacuum_permeability * layers.cell;
  const Complex displacement =
      j * layers.omega * materials::vacuum_permittivity * layers.cell;
  const GridWave wave = grid_wave(conductor ? Complex{1.0} : end, layers);
  GridSide side;
  // A wave of size 1 at the edge behind the last cell, or E = 0 in the centre behind it.
  side.e_beyond = conductor ? 0.0 : wave.half;
  Complex v = conductor ? Complex{1.0 / materials::vacuum_impedance} : wave.admittance;
  Complex e = side.e_beyond;
  side.pairs.resize(eps.size());
  for (std::size_t n = eps.size(); n-- > 0;) {
    e += induction * v;
    side.pairs[n] = {e, v};
    v += displacement * eps[n] * e;
    if (std::abs(e) > too_large) {
      side.v_near = v;
      side.scale(1.0 / too_large);
      e = side.pairs[n].e;
      v = side.v_near;
    }
  }
  side.v_near = v;
  return side;
}

void require_sound(const GridLayers& layers)
{
  if (layers.eps.empty() || !(layers.cell > 0.0) || !(layers.omega > 0.0) ||
      !std::isfinite(layers.cell) || !std::isfinite(layers.omega)) {
    throw std::invalid_argument(
        "layers on a grid need at least one cell, and a finite cell size and frequency "
        "above 0");
  }
  const auto passive = [](Complex eps) {
    return std::isfinite(eps.real()) && std::isfinite(eps.imag()) && eps.imag() <= 0.0;
  };
  if (!std::ranges::all_of(layers.eps, passive) ||
      (!layers.conductor_first && !passive(layers.first)) ||
      (!layers.conductor_last && !passive(layers.last))) {
    throw std::invalid_argument(
        "a discrete permittivity is not that of a passive medium (Im eps <= 0)");
  }
}

/// Fluxes and heat from E in the cells and just beyond them, and H.
void fill_powers(const GridLayers& layers, Complex before, Complex beyond,
                 GridFields& fields)
{
  const std::size_t n = layers.eps.size();
  for (std::size_t e = 0; e <= n; ++e) {
    const Complex left = e == 0 ? before : fields.e[e - 1];
    const Complex right = e == n ? beyond : fields.e[e];
    fields.flux.push_back(-0.25 * ((left + right) * std::conj(fields.h[e])).real());
  }
  const double scale = 0.5 * layers.omega * materials::vacuum_permittivity * layers.cell;
  for (std::size_t i = 0; i < n; ++i) {
    fields.heat.push_back(scale * -layers.eps[i].imag() * std::norm(fields.e[i]));
  }
}

[[nodiscard]] const MediumEntry& entry_of(const Medium& medium, std::size_t cell)
{
  return medium.palette.at(medium.cells[cell]);
}

}  // namespace

GridLayers grid_layers(const Medium& medium, double cell, double dt, double frequency)
{
  std::size_t from = 0;
  std::size_t to = medium.cells.size();
  while (from < to && entry_of(medium, from).conductor) {
    ++from;
  }
  while (to > from && entry_of(medium, to - 1).conductor) {
    --to;
  }
  if (from == to) {
    throw std::invalid_argument("the row has no cell without a perfect conductor");
  }
  GridLayers layers;
  layers.cell = cell;
  layers.omega = discrete_omega(frequency, dt);
  layers.first_cell = from;
  layers.conductor_first = from > 0;
  layers.conductor_last = to < medium.cells.size();
  for (std::size_t i = from; i < to; ++i) {
    if (entry_of(medium, i).conductor) {
      throw std::invalid_argument(
          fmt::format("cell {} is a perfect conductor between others", i));
    }
    layers.eps.push_back(discrete_permittivity(entry_of(medium, i),
                                               medium.relaxation_times, frequency, dt));
  }
  layers.first = layers.eps.front();
  layers.last = layers.eps.back();
  return layers;
}

GridPlaneWave solve_plane_wave(const GridLayers& layers)
{
  require_sound(layers);
  const GridWave wave = grid_wave(layers.first, layers);
  if (layers.conductor_first || !(wave.admittance.real() > 0.0) ||
      !(wave.cosine.real() > 0.0)) {
    throw std::invalid_argument(
        "no plane wave comes from the left: there is a conductor, or the cells are too "
        "large for its waves");
  }
  GridSide side = march(layers, layers.eps, layers.last, layers.conductor_last);
  // At edge 0, E = A + B and -H = Y (A - B); cell 0 goes on like the first medium.
  const Complex induction =
      j * layers.omega * materials::vacuum_permeability * layers.cell;
  const Complex mean = side.pairs.front().e + 0.5 * induction * side.v_near;
  const Complex both = mean / wave.cosine;
  const Complex difference = side.v_near / wave.admittance;
  const Complex forward = 0.5 * (both + difference);
  GridPlaneWave answer;
  answer.reflection = 0.5 * (both - difference) / forward;
  side.scale(1.0 / forward);
  answer.transmission =
      layers.conductor_last ? 0.0 : side.e_beyond / grid_wave(layers.last, layers).half;
  const Complex before = side.pairs.front().e + induction * side.v_near;
  answer.fields.h.push_back(-side.v_near);
  for (const Pair& pair : side.pairs) {
    answer.fields.e.push_back(pair.e);
    answer.fields.h.push_back(-pair.v);
  }
  fill_powers(layers, before, side.e_beyond, answer.fields);
  answer.incident_flux = 0.5 * (wave.cosine * std::conj(wave.admittance)).real();
  answer.reflectance = std::norm(answer.reflection);
  answer.entering = answer.fields.flux.front() / answer.incident_flux;
  answer.transmittance = answer.fields.flux.back() / answer.incident_flux;
  return answer;
}

GridCurrentSheet solve_current_sheet(const GridLayers& layers, std::size_t cell)
{
  require_sound(layers);
  const std::size_t n = layers.eps.size();
  if (cell >= n) {
    throw std::invalid_argument(
        fmt::format("there is no cell {} in a row of {}", cell, n));
  }
  const std::span<const Complex> eps = layers.eps;
  std::vector<Complex> mirrored(eps.begin(),
                                eps.begin() + static_cast<std::ptrdiff_t>(cell) + 1);
  std::ranges::reverse(mirrored);
  GridSide right = march(layers, eps.subspan(cell), layers.last, layers.conductor_last);
  GridSide left = march(layers, mirrored, layers.first, layers.conductor_first);
  // Both give E in the sheet's cell; -H falls there by 1 A/m and the displacement.
  const Pair r = right.pairs.front();
  const Pair l = left.pairs.front();
  const Complex displacement =
      j * layers.omega * materials::vacuum_permittivity * layers.cell * layers.eps[cell];
  const Complex factor = -1.0 / (l.e * r.v + r.e * l.v + displacement * r.e * l.e);
  right.scale(factor * l.e);
  left.scale(factor * r.e);
  GridCurrentSheet answer;
  answer.fields.e.resize(n);
  answer.fields.h.resize(n + 1);
  for (std::size_t i = 0; i <= cell; ++i) {
    answer.fields.e[cell - i] = left.pairs[i].e;
    answer.fields.h[cell - i] = left.pairs[i].v;  // counted along -x
  }
  for (std::size_t i = cell; i < n; ++i) {
    answer.fields.e[i] = right.pairs[i - cell].e;
    answer.fields.h[i + 1] = -right.pairs[i - cell].v;
  }
  fill_powers(layers, left.e_beyond, right.e_beyond, answer.fields);
  answer.delivered = -0.5 * answer.fields.e[cell].real();
  answer.into_first = -answer.fields.flux.front();
  answer.into_last = answer.fields.flux.back();
  return answer;
}

}  // namespace torsowave::solver
