#include "solver/tez_stability.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "materials/constants.hpp"

namespace torsowave::solver {
namespace {

/// Cells beside an interface have settled after fewer.
constexpr int sweeps = 40;
/// Of x: what is between conductors has no neighbours.
constexpr double least_weight = 1e-6;
/// Relative distance from the bound that is beyond rounding.
constexpr double safety = 1e-9;

/// Cells below left, below right, above left, above right of a node.
constexpr std::array<std::array<int, 2>, 4> cells_about{
    {{-1, -1}, {0, -1}, {-1, 0}, {0, 0}}};

/// |G' S G|/2 on those cells, for edges left, right, lower, upper.
[[nodiscard]] Eigen::Matrix4d share_of(const Eigen::Matrix4d& s)
{
  Eigen::Matrix4d g;
  g << -1, 0, 1, 0, 0, -1, 0, 1, 1, -1, 0, 0, 0, 0, 1, -1;
  return 0.5 * (g.transpose() * s * g).cwiseAbs();
}

using Place = std::pair<int, int>;  ///< column and row
constexpr std::int32_t nowhere = -1;

/// Where `place` stands in a sorted list.
[[nodiscard]] std::int32_t find(const std::vector<Place>& sorted, const Place& place)
{
  const auto at = std::ranges::lower_bound(sorted, place);
  return at != sorted.end() && *at == place
             ? static_cast<std::int32_t>(at - sorted.begin())
             : nowhere;
}

void sort_out(std::vector<Place>& places)
{
  std::ranges::sort(places);
  places.erase(std::unique(places.begin(), places.end()), places.end());
}

/// The cells about tensor nodes, with all nodes about them.
class Interfaces {
public:
  Interfaces(TezMedium& medium, const geometry::Raster& raster, double bound)
      : medium_(medium), raster_(raster), bound_(bound)
  {
    std::vector<Place> cells;
    for (const TensorNode& node : medium.nodes) {
      for (const auto& [di, dj] : cells_about) {
        cells.emplace_back(node.i + di, node.j + dj);
      }
    }
    sort_out(cells);
    std::vector<Place> nodes;
    for (const auto& [i, j] : cells) {
      for (const auto& [di, dj] : cells_about) {
        nodes.emplace_back(i - di, j - dj);
      }
    }
    sort_out(nodes);
    nodes_.resize(nodes.size());
    for (std::size_t n = 0; n < medium.nodes.size(); ++n) {
      const auto at = find(nodes, {medium.nodes[n].i, medium.nodes[n].j});
      nodes_[static_cast<std::size_t>(at)].tensor = static_cast<std::int32_t>(n);
    }
    for (std::size_t n = 0; n < nodes.size(); ++n) {
      nodes_[n].share = share_of(inverse_at(nodes_[n], nodes[n]));
      for (std::size_t c = 0; c < cells_about.size(); ++c) {
        nodes_[n].cells[c] = find(cells, {nodes[n].first + cells_about[c][0],
                                          nodes[n].second + cells_about[c][1]});
      }
    }
    for (const auto& [i, j] : cells) {
      Corners corners{};
      for (std::size_t c = 0; c < cells_about.size(); ++c) {
        corners[c] = find(nodes, {i - cells_about[c][0], j - cells_about[c][1]});
      }
      corners_.push_back(corners);
    }
    weights_.assign(cells.size(), 1.0);
    scaled_.assign(medium.nodes.size(), false);
  }

  /// x_c = (|M| x)_c/bound, at most 1: falls from sweep to sweep, and ends where |M| x <=
  /// bound x or x = 1.
  void settle()
  {
    for (int n = 0; n < sweeps; ++n) {
      for (std::size_t cell = 0; cell < weights_.size(); ++cell) {
        const auto [tensors, others] = row_sum(cell);
        const double enough = (tensors + others) / bound_ * (1.0 + safety);
        weights_[cell] = std::min(weights_[cell], std::max(enough, least_weight));
      }
    }
  }

  /// Scales the nodes about the cells that are beyond the bound. \return whether any was
  bool scale()
  {
    std::vector<double> factors(medium_.nodes.size(), 1.0);
    bool any = false;
    for (std::size_t cell = 0; cell < weights_.size(); ++cell) {
      const auto [tensors, others] = row_sum(cell);
      if (tensors + others <= bound_ * weights_[cell]) {
        continue;
      }
      any = true;
      const double factor = (bound_ * (1.0 - safety) * weights_[cell] - others) / tensors;
      for (const std::int32_t corner : corners_[cell]) {
        const std::int32_t tensor = nodes_[static_cast<std::size_t>(corner)].tensor;
        if (tensor != nowhere) {
          double& least = factors[static_cast<std::size_t>(tensor)];
          least = std::min(least, factor);
        }
      }
    }
    for (Node& node : nodes_) {
      if (node.tensor == nowhere) {
        continue;
      }
      const auto n = static_cast<std::size_t>(node.tensor);
      if (factors[n] < 1.0) {
        for (NodeVector& lane : medium_.nodes[n].lanes) {
          for (double& part : lane) {
            part *= std::sqrt(factors[n]);
          }
        }
        node.share *= factors[n];
        scaled_[n] = true;
      }
    }
    return any;
  }

  [[nodiscard]] int scaled() const
  {
    return static_cast<int>(std::ranges::count(scaled_, true));
  }

private:
  using Corners = std::array<std::int32_t, 4>;

  struct Node {
    std::int32_t tensor = nowhere;  ///< among the medium's
    Corners cells{};                ///< among those about tensors
    Eigen::Matrix4d share;          ///< |N_n|
  };

  [[nodiscard]] double inverse(std::uint16_t entry) const
  {
    const MediumEntry& medium = medium_.palette[entry];
    return medium.conductor ? 0.0 : 1.0 / medium.eps_inf;
  }

  /// S_n
  [[nodiscard]] Eigen::Matrix4d inverse_at(const Node& node, const Place& place) const
  {
    Eigen::Matrix4d s = Eigen::Matrix4d::Zero();
    if (node.tensor != nowhere) {
      const TensorNode& tensor = medium_.nodes[static_cast<std::size_t>(node.tensor)];
      for (std::size_t m = 0; m < node_lanes; ++m) {
        const Eigen::Map<const Eigen::Vector4d> v(tensor.lanes[m].data());
        s += v * v.transpose() * inverse(tensor.media[m]);
      }
      return s;
    }
    const auto& [i, j] = place;
    const auto nx = static_cast<std::size_t>(raster_.nx);
    const auto x_edge = [&, row = static_cast<std::size_t>(j)](int column) {
      return column < 0 || column >= raster_.nx
                 ? 0.0
                 : inverse(medium_.x_edges[row * nx + static_cast<std::size_t>(column)]);
    };
    const auto y_edge = [&, column = static_cast<std::size_t>(i)](int row) {
      return row < 0 || row >= raster_.ny
                 ? 0.0
                 : inverse(medium_.y_edges[static_cast<std::size_t>(row) * (nx + 1) +
                                           column]);
    };
    s.diagonal() << x_edge(i - 1), x_edge(i), y_edge(j - 1), y_edge(j);
    return s;
  }

  /// (|M| x)_c, of the nodes with tensors and of the others.
  [[nodiscard]] std::pair<double, double> row_sum(std::size_t cell) const
  {
    std::pair<double, double> sum{0.0, 0.0};
    for (std::size_t corner = 0; corner < cells_about.size(); ++corner) {
      const Node& node = nodes_[static_cast<std::size_t>(corners_[cell][corner])];
      double row = 0.0;
      for (std::size_t other = 0; other < cells_about.size(); ++other) {
        const std::int32_t at = node.cells[other];
        row += node.share(static_cast<Eigen::Index>(corner),
                          static_cast<Eigen::Index>(other)) *
               (at == nowhere ? 1.0 : weights_[static_cast<std::size_t>(at)]);
      }
      (node.tensor != nowhere ? sum.first : sum.second) += row;
    }
    return sum;
  }

  TezMedium& medium_;
  geometry::Raster raster_;
  double bound_;
  std::vector<Node> nodes_;
  std::vector<Corners> corners_;  ///< nodes about each cell
  std::vector<double> weights_;   ///< x of each cell; that of all others is 1
  std::vector<bool> scaled_;      ///< of the medium's nodes
};

}  // namespace

int keep_stable(TezMedium& medium, const geometry::Raster& raster, double dt)
{
  const double courant = materials::speed_of_light * dt / raster.cell;
  Interfaces interfaces(medium, raster, 4.0 / (courant * courant));
  do {
    interfaces.settle();
  } while (interfaces.scale());
  return interfaces.scaled();
}

}  // namespace torsowave::solver
