#include "solver/tez_medium.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <complex>
#include <map>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "materials/constants.hpp"
#include "materials/debye_least_squares.hpp"
#include "solver/tez_stability.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using geometry::Mixture;
using geometry::StaggeredMap;

/// Fits permittivities that are no Debye media on the shared times.
class Fitter {
public:
  Fitter(std::vector<double> times, const TezMediumRequest& request)
      : times_(std::move(times))
  {
    constexpr int samples = 16;
    constexpr double wanted_weight = 1e4;  // squared error: results are wanted there
    const double ratio = request.band_to / request.band_from;
    for (int n = 0; n < samples; ++n) {
      add(request.band_from * std::pow(ratio, n / (samples - 1.0)), 1.0, request.dt);
    }
    for (const double frequency : request.frequencies) {
      add(frequency, wanted_weight, request.dt);
    }
  }

  /// Permittivity of an entry at the samples, in discrete time.
  [[nodiscard]] std::vector<Complex> sampled(const MediumEntry& entry) const
  {
    using namespace std::complex_literals;
    std::vector<Complex> result;
    for (const double frequency : warped_) {
      const double w = materials::two_pi * frequency;
      Complex eps =
          entry.eps_inf + entry.conductivity / (1i * w * materials::vacuum_permittivity);
      for (std::size_t k = 0; k < times_.size(); ++k) {
        eps += entry.strengths[k] / (1.0 + 1i * w * times_[k]);
      }
      result.push_back(eps);
    }
    return result;
  }

  [[nodiscard]] MediumEntry fit(const std::vector<Complex>& targets) const
  {
    const materials::DebyeBasis basis(warped_, times_);
    const materials::RelativeFit fit =
        materials::least_squares_fit(basis, targets, weights_);
    MediumEntry entry;
    entry.eps_inf = 1.0 + fit.unknowns[0];
    entry.conductivity = basis.conductivity(fit.unknowns[1]);
    for (std::size_t k = 0; k < times_.size(); ++k) {
      entry.strengths.push_back(fit.unknowns[2 + k]);
    }
    return entry;
  }

private:
  void add(double frequency, double weight, double dt)
  {
    const double half = 0.5 * materials::two_pi * dt;
    warped_.push_back(std::tan(half * frequency) / half);
    weights_.push_back(weight);
  }

  std::vector<double> times_;
  std::vector<double> warped_;  ///< what the bilinear update makes of the frequencies
  std::vector<double> weights_;
};

/// Palette entries of mixtures, made once each.
class MixturePalette {
public:
  MixturePalette(const materials::DebyePalette& media, const TezMediumRequest& request,
                 TezMedium& medium)
      : media_(media), fitter_(media.relaxation_times, request), medium_(medium)
  {
    for (const materials::FittedMedium& one : media.media) {
      medium_.palette.push_back(
          {one.conductor, one.eps_inf, one.conductivity, one.strengths});
      const auto tissue = static_cast<std::uint16_t>(medium_.origins.size());
      medium_.origins.push_back({{{tissue, geometry::node_quantum}}, false});
      if (one.conductor) {
        medium_.palette.back().strengths.assign(media.relaxation_times.size(), 0.0);
      }
    }
  }

  struct Pair {
    std::uint16_t across = 0;
    std::uint16_t along = 0;
    bool mixed = false;
  };

  [[nodiscard]] Pair pair_of(const Mixture& mixture)
  {
    std::vector<std::pair<std::uint16_t, std::uint16_t>> key;
    for (const geometry::Share& share : mixture) {
      key.emplace_back(share.tissue, share.quanta);
    }
    const auto [at, is_new] = pairs_.try_emplace(std::move(key));
    if (is_new) {
      at->second = make(mixture);
    }
    return at->second;
  }

  /// A medium of A/part for what does not fit, and what is left of `part` for the lane.
  /// A/part as a Debye medium of its own keeps eps_inf at 1 or above; parts below 1, and
  /// what is left after steps of a fourth root of two, are the lane's.
  [[nodiscard]] std::pair<std::uint16_t, double> rest_of(const Mixture& mixture,
                                                         double part)
  {
    constexpr double steps_per_octave = 4.0;
    const Pair pair = pair_of(mixture);
    const int step =
        part > 1.0 ? static_cast<int>(steps_per_octave * std::log2(part)) : 0;
    if (step == 0 || medium_.palette[pair.along].conductor) {
      return {pair.along, part};
    }
    const double scale = std::exp2(step / steps_per_octave);
    const auto [at, is_new] = rests_.try_emplace({pair.along, step});
    if (is_new) {
      std::vector<Complex> eps = fitter_.sampled(medium_.palette[pair.along]);
      for (Complex& value : eps) {
        value /= scale;
      }
      at->second = add(fitter_.fit(eps), {mixture, false});
    }
    return {at->second, part / scale};
  }

  /// 1/(mean of the inverses) of two entries.
  [[nodiscard]] std::uint16_t harmonic(std::uint16_t a, std::uint16_t b)
  {
    if (a == b) {
      return a;
    }
    const auto [at, is_new] = means_.try_emplace(std::minmax(a, b));
    if (is_new) {
      std::vector<Complex> inverse(fitter_.sampled(medium_.palette[a]));
      const std::vector<Complex> other = fitter_.sampled(medium_.palette[b]);
      for (std::size_t n = 0; n < inverse.size(); ++n) {
        inverse[n] = 2.0 / (1.0 / inverse[n] + 1.0 / other[n]);
      }
      EntryOrigin origin{medium_.origins[a].shares, true};
      for (const geometry::Share& share : medium_.origins[b].shares) {
        origin.shares.push_back(share);
      }
      at->second = add(fitter_.fit(inverse), std::move(origin));
    }
    return at->second;
  }

private:
  [[nodiscard]] std::uint16_t add(MediumEntry entry, EntryOrigin origin)
  {
    if (medium_.palette.size() > 65'000) {
      throw std::invalid_argument("too many different mixtures at the interfaces");
    }
    medium_.palette.push_back(std::move(entry));
    medium_.origins.push_back(std::move(origin));
    return static_cast<std::uint16_t>(medium_.palette.size() - 1);
  }

  [[nodiscard]] Pair make(const Mixture& mixture)
  {
    double conducting = 0.0;
    for (const geometry::Share& share : mixture) {
      conducting += media_.media.at(share.tissue).conductor ? share.quanta : 0;
    }
    const double whole = geometry::node_quantum - conducting;
    Pair pair;
    pair.mixed = true;
    if (2.0 * conducting >= geometry::node_quantum) {
      MediumEntry conductor{true, 1.0, 0.0, {}};
      conductor.strengths.assign(media_.relaxation_times.size(), 0.0);
      pair.across = pair.along = add(conductor, {mixture, false});
      return pair;
    }
    MediumEntry mean{false, 0.0, 0.0, {}};
    mean.strengths.assign(media_.relaxation_times.size(), 0.0);
    std::vector<Complex> inverse;
    for (const geometry::Share& share : mixture) {
      const MediumEntry& part = medium_.palette[share.tissue];
      if (!part.conductor) {
        add_share(mean, part, share.quanta / whole);
        add_inverse(inverse, part, share.quanta / whole);
      }
    }
    for (Complex& value : inverse) {
      value = 1.0 / value;
    }
    pair.along = add(std::move(mean), {mixture, false});
    pair.across = add(fitter_.fit(inverse), {mixture, true});
    return pair;
  }

  static void add_share(MediumEntry& mean, const MediumEntry& part, double fraction)
  {
    mean.eps_inf += fraction * part.eps_inf;
    mean.conductivity += fraction * part.conductivity;
    for (std::size_t k = 0; k < mean.strengths.size(); ++k) {
      mean.strengths[k] += fraction * part.strengths[k];
    }
  }

  void add_inverse(std::vector<Complex>& sum, const MediumEntry& part,
                   double fraction) const
  {
    const std::vector<Complex> eps = fitter_.sampled(part);
    sum.resize(eps.size());
    for (std::size_t n = 0; n < eps.size(); ++n) {
      sum[n] += fraction / eps[n];
    }
  }

  const materials::DebyePalette& media_;
  Fitter fitter_;
  TezMedium& medium_;
  std::map<std::vector<std::pair<std::uint16_t, std::uint16_t>>, Pair> pairs_;
  std::map<std::pair<std::uint16_t, std::uint16_t>, std::uint16_t> means_;
  std::map<std::pair<std::uint16_t, int>, std::uint16_t> rests_;
};

/// The media and vectors of a node, as derived at the head of the header file.
[[nodiscard]] TensorNode tensor_node(const geometry::MixedNode& node,
                                     MixturePalette& palette)
{
  const double nx = node.normal.x;
  const double ny = node.normal.y;
  Eigen::Matrix<double, 4, 2> b;
  b << nx, -node.sides[0] * ny, nx, -node.sides[1] * ny, ny, node.sides[2] * nx, ny,
      node.sides[3] * nx;
  const Eigen::Vector4d w =
      Eigen::Map<const Eigen::Vector4d>(node.sides.data()).cwiseInverse();
  const Eigen::Matrix<double, 2, 4> p =
      (b.transpose() * w.asDiagonal() * b).inverse() * b.transpose() * w.asDiagonal();
  const Eigen::Matrix4d misfit = Eigen::Matrix4d::Identity() - b * p;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix4d> parts(misfit.transpose() *
                                                             w.asDiagonal() * misfit);
  const MixturePalette::Pair media = palette.pair_of(node.mixture);
  TensorNode result{node.i, node.j, {media.across, media.along}, {}};
  for (const int lane : {2, 3}) {  // the other two eigenvalues are zero
    const auto [medium, part] = palette.rest_of(node.mixture, parts.eigenvalues()(lane));
    const auto m = static_cast<std::size_t>(lane);
    result.media[m] = medium;
    for (int e = 0; e < 4; ++e) {
      result.lanes[m][static_cast<std::size_t>(e)] =
          std::sqrt(std::max(part, 0.0)) * parts.eigenvectors()(e, lane);
    }
  }
  for (int e = 0; e < 4; ++e) {
    const auto edge = static_cast<std::size_t>(e);
    result.lanes[0][edge] = std::numbers::sqrt2 * p(0, e);
    result.lanes[1][edge] = std::numbers::sqrt2 * p(1, e);
  }
  return result;
}

/// Carries nodes out into the absorber and sorts edges into scalar and tensor ones.
class Builder {
public:
  Builder(const StaggeredMap& map, const materials::DebyePalette& media,
          const TezMediumRequest& request, TezMedium& medium)
      : map_(map), request_(request), medium_(medium), palette_(media, request, medium)
  {
    node_pairs_.resize(map.nodes.size());
    for (std::size_t n = 0; n < map.nodes.size(); ++n) {
      const std::uint16_t tissue = map.nodes[n];
      node_pairs_[n] = {tissue, tissue, false};
    }
    for (std::size_t m = 0; m < map.mixed.size(); ++m) {
      const geometry::MixedNode& node = map.mixed[m];
      node_pairs_[map.node_at(node.i, node.j)] = palette_.pair_of(node.mixture);
      mixed_at_[map.node_at(node.i, node.j)] = m;
    }
  }

  void build()
  {
    for (int j = 0; j <= map_.raster.ny; ++j) {
      for (int i = 0; i <= map_.raster.nx; ++i) {
        add_node(i, j);
      }
    }
    for (int e = 0; e <= map_.raster.ny; ++e) {
      for (int i = 0; i < map_.raster.nx; ++i) {
        medium_.x_edges.push_back(edge(i, e, i + 1, e, true));
      }
    }
    for (int j = 0; j < map_.raster.ny; ++j) {
      for (int e = 0; e <= map_.raster.nx; ++e) {
        medium_.y_edges.push_back(edge(e, j, e, j + 1, false));
      }
    }
  }

private:
  [[nodiscard]] std::size_t carried(int i, int j) const
  {
    const int a = request_.absorbing_cells;
    return map_.node_at(std::clamp(i, a, map_.raster.nx - a),
                        std::clamp(j, a, map_.raster.ny - a));
  }
  [[nodiscard]] const MixturePalette::Pair& pair(int i, int j) const
  {
    return node_pairs_[carried(i, j)];
  }
  [[nodiscard]] bool is_mixed(int i, int j) const { return pair(i, j).mixed; }
  [[nodiscard]] bool is_conductor(int i, int j) const
  {
    return medium_.palette[pair(i, j).along].conductor;
  }
  [[nodiscard]] bool beside_source(int i, int j) const
  {
    return request_.source_i >= 0 &&
           (i == request_.source_i || i == request_.source_i + 1) &&
           (j == request_.source_j || j == request_.source_j + 1);
  }
  /// Inside the absorber, on its inner face included, interfaces run straight outwards.
  [[nodiscard]] bool in_strip_x(int i) const
  {
    return i <= request_.absorbing_cells ||
           i >= map_.raster.nx - request_.absorbing_cells;
  }
  [[nodiscard]] bool in_strip_y(int j) const
  {
    return j <= request_.absorbing_cells ||
           j >= map_.raster.ny - request_.absorbing_cells;
  }

  void add_node(int i, int j)
  {
    index_.push_back(TensorEdge::none);
    if (!is_mixed(i, j) || in_strip_x(i) || in_strip_y(j) || beside_source(i, j) ||
        is_conductor(i, j)) {
      return;
    }
    const geometry::MixedNode& node = map_.mixed[mixed_at_.at(map_.node_at(i, j))];
    index_.back() = static_cast<std::int32_t>(medium_.nodes.size());
    medium_.nodes.push_back(tensor_node(node, palette_));
  }

  /// What an end without tensor gives to an edge along x or y: interfaces in the strips
  /// run along the strip's depth; beside a dipole the mean serves.
  [[nodiscard]] std::uint16_t scalar_end(int i, int j, bool along_x) const
  {
    const MixturePalette::Pair& media = pair(i, j);
    if (!is_mixed(i, j) || beside_source(i, j)) {
      return media.along;
    }
    const bool across =
        along_x ? in_strip_y(j) && !in_strip_x(i) : in_strip_x(i) && !in_strip_y(j);
    return across ? media.across : media.along;
  }

  /// Medium of the edge between two nodes; puts it on the list of tensor edges if it has
  /// one.
  [[nodiscard]] std::uint16_t edge(int i, int j, int i2, int j2, bool along_x)
  {
    if (is_conductor(i, j) && is_conductor(i2, j2)) {
      return pair(i, j).along;
    }
    const std::int32_t low = index_[map_.node_at(i, j)];
    const std::int32_t high = index_[map_.node_at(i2, j2)];
    if (low != TensorEdge::none || high != TensorEdge::none) {
      (along_x ? medium_.x_tensor_edges : medium_.y_tensor_edges)
          .push_back({i, j, low, high});
    }
    if (low != TensorEdge::none && high != TensorEdge::none) {
      return medium_.nodes[static_cast<std::size_t>(low)].media[1];
    }
    if (low != TensorEdge::none || is_conductor(i, j)) {
      return scalar_end(i2, j2, along_x);
    }
    if (high != TensorEdge::none || is_conductor(i2, j2)) {
      return scalar_end(i, j, along_x);
    }
    return palette_.harmonic(scalar_end(i, j, along_x), scalar_end(i2, j2, along_x));
  }

  const StaggeredMap& map_;
  const TezMediumRequest& request_;
  TezMedium& medium_;
  MixturePalette palette_;
  std::vector<MixturePalette::Pair> node_pairs_;
  std::map<std::size_t, std::size_t> mixed_at_;
  std::vector<std::int32_t> index_;  ///< of each node among the tensors
};

/// Without averaging: the tissue at each edge's midpoint, carried out into the absorber.
void take_midpoints(const StaggeredMap& map, const TezMediumRequest& request,
                    TezMedium& medium)
{
  const int a = request.absorbing_cells;
  const int nx = map.raster.nx;
  const int ny = map.raster.ny;
  for (int e = 0; e <= ny; ++e) {
    for (int i = 0; i < nx; ++i) {
      medium.x_edges.push_back(map.x_edges[map.x_edge_at(std::clamp(i, a, nx - 1 - a),
                                                         std::clamp(e, a, ny - a))]);
    }
  }
  for (int j = 0; j < ny; ++j) {
    for (int e = 0; e <= nx; ++e) {
      medium.y_edges.push_back(map.y_edges[map.y_edge_at(std::clamp(e, a, nx - a),
                                                         std::clamp(j, a, ny - 1 - a))]);
    }
  }
}

/// Which neighbours on the x edges are averaged: of one tissue with losses, and away from
/// tensors.
[[nodiscard]] std::vector<std::uint8_t> averaged_edges(
    const TezMedium& medium, const geometry::Raster& raster,
    const materials::DebyePalette& media)
{
  const auto nx = static_cast<std::size_t>(raster.nx);
  std::vector<std::uint8_t> open(medium.x_edges.size());
  std::ranges::transform(medium.x_edges, open.begin(), [&](std::uint16_t entry) {
    return entry < media.media.size() && has_losses(media.media[entry]) ? 1 : 0;
  });
  for (const TensorEdge& edge : medium.x_tensor_edges) {
    open[static_cast<std::size_t>(edge.j) * nx + static_cast<std::size_t>(edge.i)] = 0;
  }
  std::vector<std::uint8_t> averaged(open.size(), 0);
  for (std::size_t at = 0; at < open.size(); ++at) {
    const bool both = at % nx != 0 && open[at] != 0 && open[at - 1] != 0;
    averaged[at] = both && medium.x_edges[at] == medium.x_edges[at - 1] ? 1 : 0;
  }
  return averaged;
}

}  // namespace

TezMedium build_tez_medium(const StaggeredMap& map, const materials::DebyePalette& media,
                           const TezMediumRequest& request)
{
  if (media.media.size() != map.tissues.size()) {
    throw std::invalid_argument("one fitted medium is needed for each tissue of the map");
  }
  TezMedium medium;
  medium.relaxation_times = media.relaxation_times;
  if (map.nodes.empty()) {
    const MixturePalette pure(media, request, medium);
    take_midpoints(map, request, medium);
  } else {
    Builder(map, media, request, medium).build();
    keep_stable(medium, map.raster, request.dt);
  }
  if (request.averaged) {
    medium.x_averaged = averaged_edges(medium, map.raster, media);
  }
  return medium;
}

}  // namespace torsowave::solver
