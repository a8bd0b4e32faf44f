#include "solver/tez_phasors.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <numeric>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::vacuum_permittivity;

/// Shares out an entry's loss: by -Im eps where E is common to its parts, by -Im(-1/eps)
/// where D is.
void share_out(const EntryOrigin& origin, std::span<const Complex> eps, double power,
               std::vector<double>& by_tissue)
{
  double whole = 0.0;
  std::vector<double> parts;
  for (const geometry::Share& share : origin.shares) {
    const Complex& one = eps[share.tissue];
    const double loss = origin.across ? (1.0 / one).imag() : -one.imag();
    parts.push_back(share.quanta * std::max(loss, 0.0));
    whole += parts.back();
  }
  for (std::size_t s = 0; s < parts.size() && whole > 0.0; ++s) {
    by_tissue[origin.shares[s].tissue] += power * parts[s] / whole;
  }
}

/// How much of each edge's own medium lies in a set of cells.
struct EdgeWeights {
  EdgeWeights(const TezMedium& medium, const geometry::Raster& raster,
              std::span<const std::uint8_t> mask)
      : cells(raster), inside(mask)
  {
    for (int e = 0; e <= raster.ny; ++e) {
      for (int i = 0; i < raster.nx; ++i) {
        x.push_back(half(i, e) + half(i, e - 1));
      }
    }
    for (int j = 0; j < raster.ny; ++j) {
      for (int e = 0; e <= raster.nx; ++e) {
        y.push_back(half(e, j) + half(e - 1, j));
      }
    }
    const auto nx = static_cast<std::size_t>(raster.nx);
    for (const TensorEdge& edge : medium.x_tensor_edges) {
      x[static_cast<std::size_t>(edge.j) * nx + static_cast<std::size_t>(edge.i)] *=
          scalar_part(edge);
    }
    for (const TensorEdge& edge : medium.y_tensor_edges) {
      y[static_cast<std::size_t>(edge.j) * (nx + 1) + static_cast<std::size_t>(edge.i)] *=
          scalar_part(edge);
    }
  }

  [[nodiscard]] bool holds(int i, int j) const
  {
    return i >= 0 && j >= 0 && i < cells.nx && j < cells.ny &&
           inside[cells.at(i, j)] != 0;
  }
  [[nodiscard]] double half(int i, int j) const { return holds(i, j) ? 0.5 : 0.0; }
  [[nodiscard]] static double scalar_part(const TensorEdge& edge)
  {
    return (edge.low < 0 ? 0.5 : 0.0) + (edge.high < 0 ? 0.5 : 0.0);
  }

  geometry::Raster cells;
  std::span<const std::uint8_t> inside;
  std::vector<double> x;
  std::vector<double> y;
};

/// v . C
[[nodiscard]] Complex along(const NodeVector& lane, const std::array<Complex, 4>& curls)
{
  return (lane[0] * curls[0] + lane[1] * curls[1]) +
         (lane[2] * curls[2] + lane[3] * curls[3]);
}

}  // namespace

std::vector<EdgeCurrent> dipole_currents(int i, int j, double direction, Complex moment)
{
  const Complex x = 0.5 * std::cos(direction) * moment;
  const Complex y = 0.5 * std::sin(direction) * moment;
  return {{Site::x_edge, i, j, x},
          {Site::x_edge, i, j + 1, x},
          {Site::y_edge, i, j, y},
          {Site::y_edge, i + 1, j, y}};
}

TezPhasors::TezPhasors(const TezMedium& medium, const Grid& grid,
                       const PhasorRecorder& hz, std::size_t f,
                       std::span<const EdgeCurrent> currents)
    : medium_(medium),
      raster_(grid.raster),
      omega_(discrete_omega(hz.frequencies()[f], grid.time_step)),
      hz_(hz),
      f_(f),
      currents_(currents.begin(), currents.end())
{
  for (const MediumEntry& entry : medium.palette) {
    eps_.push_back(entry.conductor
                       ? Complex(0.0, 0.0)
                       : discrete_permittivity(entry, medium.relaxation_times,
                                               hz.frequencies()[f], grid.time_step));
  }
  const Complex unit = 1.0 / (Complex(0.0, omega_) * vacuum_permittivity);
  const auto scalar = [&](std::uint16_t entry, Complex curl) {
    return eps_[entry] == 0.0 ? Complex() : unit * curl / eps_[entry];
  };
  for (int e = 0; e <= raster_.ny; ++e) {
    for (int i = 0; i < raster_.nx; ++i) {
      ex_.push_back(
          scalar(medium.x_edges[ex_.size()], x_averaged_curl(i, e, x_curl(i, e))));
    }
  }
  for (int j = 0; j < raster_.ny; ++j) {
    for (int e = 0; e <= raster_.nx; ++e) {
      ey_.push_back(scalar(medium.y_edges[ey_.size()], y_curl(e, j)));
    }
  }
  add_nodes();
}

Complex TezPhasors::x_curl(int i, int e) const
{
  const auto at = static_cast<std::size_t>(i);
  const Complex above = e < raster_.ny ? hz_.row(f_, e)[at] : Complex();
  const Complex below = e > 0 ? hz_.row(f_, e - 1)[at] : Complex();
  Complex curl = (above - below) / raster_.cell;
  for (const EdgeCurrent& current : currents_) {
    if (current.site == Site::x_edge && current.i == i && current.j == e) {
      curl -= current.moment / (raster_.cell * raster_.cell);
    }
  }
  return curl;
}

Complex TezPhasors::x_averaged_curl(int i, int e, Complex here) const
{
  Complex sum = here;
  for (const int side : {0, 1}) {
    const double part = medium_.averaged_with_left(i + side, e, raster_.nx);
    if (part != 0.0) {
      sum += part * (x_curl(i - 1 + 2 * side, e) - here);
    }
  }
  return sum;
}

double TezPhasors::x_square(int i, int e) const
{
  const Complex here = x_curl(i, e);
  return (std::conj(here) * x_averaged_curl(i, e, here)).real();
}

Complex TezPhasors::y_curl(int e, int j) const
{
  const auto at = static_cast<std::size_t>(e);
  const Complex right = e < raster_.nx ? hz_.row(f_, j)[at] : Complex();
  const Complex left = e > 0 ? hz_.row(f_, j)[at - 1] : Complex();
  Complex curl = (left - right) / raster_.cell;
  for (const EdgeCurrent& current : currents_) {
    if (current.site == Site::y_edge && current.i == e && current.j == j) {
      curl -= current.moment / (raster_.cell * raster_.cell);
    }
  }
  return curl;
}

void TezPhasors::add_nodes()
{
  std::vector<NodeValues> fields;
  fields.reserve(medium_.nodes.size());
  const Complex unit = 1.0 / (Complex(0.0, omega_) * vacuum_permittivity);
  for (const TensorNode& node : medium_.nodes) {
    const NodeValues curls = node_curls(node);
    NodeValues sum{};
    for (std::size_t m = 0; m < node_lanes; ++m) {
      const Complex field = unit * along(node.lanes[m], curls) / eps_[node.media[m]];
      for (std::size_t e = 0; e < sum.size(); ++e) {
        sum[e] += node.lanes[m][e] * field;
      }
    }
    fields.push_back(sum);
  }
  const auto join = [&](const TensorEdge& edge, Complex& value, std::size_t low_edge,
                        std::size_t high_edge) {
    const Complex low =
        edge.low < 0 ? value : fields[static_cast<std::size_t>(edge.low)][low_edge];
    const Complex high =
        edge.high < 0 ? value : fields[static_cast<std::size_t>(edge.high)][high_edge];
    value = 0.5 * (low + high);
  };
  const auto nx = static_cast<std::size_t>(raster_.nx);
  for (const TensorEdge& edge : medium_.x_tensor_edges) {
    join(edge,
         ex_[static_cast<std::size_t>(edge.j) * nx + static_cast<std::size_t>(edge.i)], 1,
         0);
  }
  for (const TensorEdge& edge : medium_.y_tensor_edges) {
    join(edge,
         ey_[static_cast<std::size_t>(edge.j) * (nx + 1) +
             static_cast<std::size_t>(edge.i)],
         3, 2);
  }
}

std::span<const Complex> TezPhasors::x_edge_row(int e) const
{
  const auto nx = static_cast<std::size_t>(raster_.nx);
  return std::span(ex_).subspan(static_cast<std::size_t>(e) * nx, nx);
}

std::span<const Complex> TezPhasors::y_edge_row(int j) const
{
  const auto width = static_cast<std::size_t>(raster_.nx) + 1;
  return std::span(ey_).subspan(static_cast<std::size_t>(j) * width, width);
}

std::vector<double> TezPhasors::absorbed_by_tissue(std::span<const std::uint8_t> inside,
                                                   std::size_t tissues) const
{
  // 1/2 Re(E C*) dx^2 with C = curl Hz - J and E = A C/(j Omega eps0 eps_d), by entry.
  const EdgeWeights weights(medium_, raster_, inside);
  std::vector<double> squares(medium_.palette.size(), 0.0);
  const int nx = raster_.nx;
  for (std::size_t at = 0; at < weights.x.size(); ++at) {
    if (weights.x[at] > 0.0) {
      const auto edge = static_cast<int>(at);
      squares[medium_.x_edges[at]] += weights.x[at] * x_square(edge % nx, edge / nx);
    }
  }
  for (std::size_t at = 0; at < weights.y.size(); ++at) {
    if (weights.y[at] > 0.0) {
      const auto edge = static_cast<int>(at);
      squares[medium_.y_edges[at]] +=
          weights.y[at] * std::norm(y_curl(edge % (nx + 1), edge / (nx + 1)));
    }
  }
  for (const TensorNode& node : medium_.nodes) {
    if (weights.holds(node.i, node.j)) {
      // An edge takes half of its field from either end.
      const NodeValues curls = node_curls(node);
      for (std::size_t m = 0; m < node_lanes; ++m) {
        squares[node.media[m]] += 0.5 * std::norm(along(node.lanes[m], curls));
      }
    }
  }
  std::vector<double> power(tissues, 0.0);
  const double area = raster_.cell * raster_.cell;
  for (std::size_t p = 0; p < squares.size(); ++p) {
    if (squares[p] != 0.0 && eps_[p] != 0.0) {
      const double resistance =
          (1.0 / (Complex(0.0, omega_) * vacuum_permittivity * eps_[p])).real();
      share_out(medium_.origins[p], eps_, 0.5 * resistance * squares[p] * area, power);
    }
  }
  return power;
}

std::vector<double> TezPhasors::half_resistances(std::span<const double> counted) const
{
  std::vector<double> result;
  for (std::size_t p = 0; p < eps_.size(); ++p) {
    std::vector<double> shares(counted.size(), 0.0);
    if (eps_[p] != 0.0) {
      share_out(
          medium_.origins[p], eps_,
          0.5 * (1.0 / (Complex(0.0, omega_) * vacuum_permittivity * eps_[p])).real(),
          shares);
    }
    result.push_back(
        std::inner_product(shares.begin(), shares.end(), counted.begin(), 0.0));
  }
  return result;
}

std::vector<double> TezPhasors::heat_by_cell(std::span<const float> share,
                                             std::span<const double> counted) const
{
  const std::vector<double> resistance = half_resistances(counted);
  const std::vector<std::uint8_t> everywhere(raster_.size(), 1);
  const EdgeWeights weights(medium_, raster_, everywhere);
  std::vector<double> heat(raster_.size(), 0.0);
  const auto give = [&](double power, std::initializer_list<std::array<int, 2>> cells) {
    double whole = 0.0;
    for (const auto& [i, j] : cells) {
      whole += weights.holds(i, j) ? static_cast<double>(share[raster_.at(i, j)]) : 0.0;
    }
    for (const auto& [i, j] : cells) {
      if (whole > 0.0 && weights.holds(i, j)) {
        heat[raster_.at(i, j)] +=
            power * static_cast<double>(share[raster_.at(i, j)]) / whole;
      }
    }
  };
  const int nx = raster_.nx;
  for (std::size_t at = 0; at < weights.x.size(); ++at) {
    const double scalar = weights.x[at] * resistance[medium_.x_edges[at]];
    if (scalar > 0.0) {
      const int i = static_cast<int>(at) % nx;
      const int e = static_cast<int>(at) / nx;
      give(scalar * x_square(i, e), {{i, e - 1}, {i, e}});
    }
  }
  for (std::size_t at = 0; at < weights.y.size(); ++at) {
    const double scalar = weights.y[at] * resistance[medium_.y_edges[at]];
    if (scalar > 0.0) {
      const int e = static_cast<int>(at) % (nx + 1);
      const int j = static_cast<int>(at) / (nx + 1);
      give(scalar * std::norm(y_curl(e, j)), {{e - 1, j}, {e, j}});
    }
  }
  for (const TensorNode& node : medium_.nodes) {
    const NodeValues curls = node_curls(node);
    double power = 0.0;
    for (std::size_t m = 0; m < node_lanes; ++m) {
      power += 0.5 * resistance[node.media[m]] * std::norm(along(node.lanes[m], curls));
    }
    give(power, {{node.i - 1, node.j - 1},
                 {node.i, node.j - 1},
                 {node.i - 1, node.j},
                 {node.i, node.j}});
  }
  return heat;
}

TezPhasors::NodeValues TezPhasors::node_curls(const TensorNode& node) const
{
  return {x_curl(node.i - 1, node.j), x_curl(node.i, node.j), y_curl(node.i, node.j - 1),
          y_curl(node.i, node.j)};
}

}  // namespace torsowave::solver
