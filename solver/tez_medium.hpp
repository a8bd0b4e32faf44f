/// \file
/// \brief What fills a TEz grid: a medium for each edge, and tensors where interfaces
/// run.
///
/// At an interface E along it and D across it are continuous, so a mixture answers to
/// E along with the mean permittivity A = <eps> and to D across with H = 1/<1/eps>. At a
/// node that an interface with unit normal n passes, the inverse permittivity is the
/// tensor
///   xi = n n^T / H + (1 - n n^T) / A,
/// and each edge takes E = (1/2) sum over its two ends of (xi D) there, where at a node D
/// is averaged from the four edges that meet in it. With the mean m and half difference d
/// of the two Dx (and of the two Dy) at a node the form that is summed is
///   m^T xi m + kappa (xi_xx dx^2 + xi_yy dy^2),  kappa = 1/4:
/// symmetric and positive, with every part a passive Debye medium, so that the scheme is
/// passive and stable by construction at any contrast. At an interface along the grid it
/// is the exact mean along and the exact harmonic mean across, wherever in the cell it
/// runs. (Smoothed inverse tensors: A. Farjadpour et al., Opt. Lett. 31 (2006) 2972;
/// positivity by pairing components: G. R. Werner, C. A. Bauer, J. R. Cary, J. Comput.
/// Phys. 255 (2013) 436; both from memory; the form at nodes and kappa are chosen here,
/// by measurement, docs/validation.md.)

#pragma once

#include <complex>
#include <cstdint>
#include <span>
#include <vector>

#include "geometry/staggered_map.hpp"
#include "materials/debye_fit.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

/// A node at which the inverse permittivity is a tensor.
struct TensorNode {
  int i = 0;
  int j = 0;
  std::uint16_t across = 0;  ///< palette index of H
  std::uint16_t along = 0;   ///< palette index of A
  geometry::Point normal;    ///< unit
  double kappa = 1.0;        ///< 1: each edge keeps to itself (a node of one medium)
};

/// An edge that takes half its field from one or both of its ends; from an end without a
/// tensor it takes half of what its own medium gives.
struct TensorEdge {
  static constexpr std::int32_t none = -1;
  int i = 0;  ///< of the x edge (i, e) or y edge (e, j), as in StaggeredMap
  int j = 0;
  std::int32_t low = none;   ///< index into TezMedium::nodes: the left or lower end
  std::int32_t high = none;  ///< the right or upper end
};

/// What a palette entry was mixed from, so that its losses can be told apart.
struct EntryOrigin {
  geometry::Mixture shares;  ///< quanta of no fixed sum
  bool across = false;       ///< the harmonic mean of its parts, not the mean
};

/// The filling of a TEz grid of (ny, nx) cells.
struct TezMedium {
  std::vector<double> relaxation_times;    ///< tau_k [s]
  std::vector<MediumEntry> palette;        ///< the tissues of the map first, in order
  std::vector<EntryOrigin> origins;        ///< of the palette's entries
  std::vector<std::uint16_t> x_edges;      ///< (ny + 1, nx), index into palette
  std::vector<std::uint16_t> y_edges;      ///< (ny, nx + 1)
  std::vector<TensorNode> nodes;           ///< row by row
  std::vector<TensorEdge> x_tensor_edges;  ///< row by row
  std::vector<TensorEdge> y_tensor_edges;
};

/// What build_tez_medium() needs beside map and media.
struct TezMediumRequest {
  int absorbing_cells = 0;
  double dt = 0.0;         ///< [s]
  double band_from = 0.0;  ///< where harmonic means are fitted [Hz]
  double band_to = 0.0;
  std::span<const double> frequencies;  ///< met most closely [Hz]
  int source_i = -1;  ///< cell around which edges stay scalar (a dipole lies there)
  int source_j = -1;
};

/// Assigns media to edges and tensors to nodes, and carries what meets the absorber's
/// inner face straight out to the rim.
///
/// Harmonic means of Debye media are no Debye media; they are fitted on the shared
/// relaxation times by non-negative least squares. A node that is at least half conductor
/// counts as conductor, and an edge between two of them is one; a lesser share is left
/// out.
[[nodiscard]] TezMedium build_tez_medium(const geometry::StaggeredMap& map,
                                         const materials::DebyePalette& media,
                                         const TezMediumRequest& request);

/// The quadratic form of one node, split by medium: D = (left, right, lower, upper)
/// edges.
struct NodeForm {
  double self_x = 0.0;   ///< weight of an x edge's own D in its E, over 1/H resp. 1/A
  double other_x = 0.0;  ///< of the x edge on the other side
  double self_y = 0.0;
  double other_y = 0.0;
  double cross = 0.0;  ///< of each of the two edges of the other direction
};

/// Weights of 1/H (`across`) or 1/A at a node.
[[nodiscard]] NodeForm node_form(const TensorNode& node, bool across);

}  // namespace torsowave::solver
