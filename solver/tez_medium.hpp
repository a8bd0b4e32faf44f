/// \file
/// \brief What fills a TEz grid: a medium for each edge, and tensors where interfaces
/// run.
///
/// At an interface E along it and D across it are continuous, so a mixture answers to
/// E along with the mean permittivity A = <eps> and to D across with H = 1/<1/eps>.
/// Around a node that an interface with unit normal n (tangent t) passes, D is taken as
///   D = Dn n + (eps/A) Dt t,
/// with two unknowns, and its means over the four sides of the cell-sized square around
/// the node are just the D of the four edges that meet in it: d = B (Dn, Dt), with rows
/// (n_x, r t_x) for the x edges, (n_y, r t_y) for the y edges, r = <eps over the side>/A.
/// The energy that d has in the media of the sides, sum d^2/(r A), parts into that of
/// what fits and that of what does not if the fit is weighted by W = diag(1/r),
///   (Dn, Dt) = P d,  P = (B' W B)^-1 B' W,
/// and each edge takes half of its E from either end,
///   E = 2 P' diag(1/H, 1/A) P d + R d/A,   R = (1 - B P)' W (1 - B P),
/// that is E = sum_m v_m (v_m . d)/eps_m: v_1,2 = sqrt(2) rows of P with H, A; v_3,4 the
/// eigenvectors of R, an eigenvalue above 1 as a Debye medium of its own, A over it.
/// Along an interface E comes out alike on all edges, across it as 1/r. Every term is a
/// passive Debye medium behind a fixed real vector, so the scheme is passive at any
/// contrast; that it is stable is seen to in tez_stability.hpp. r is real, that of |eps|
/// in the middle of the band. (Smoothed inverse tensors: A. Farjadpour et al., Opt. Lett.
/// 31 (2006) 2972; positivity: G. R. Werner, C. A. Bauer, J. R. Cary, J. Comput. Phys.
/// 255 (2013) 436; both from memory. The form by sides and weights is derived here.)

#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "geometry/staggered_map.hpp"
#include "materials/debye_fit.hpp"
#include "solver/medium.hpp"

namespace torsowave::solver {

/// Four scalar fields are followed at a node, for the four edges that meet in it: left,
/// right, lower, upper.
inline constexpr std::size_t node_lanes = 4;
using NodeVector = std::array<double, 4>;

/// A node at which the inverse permittivity is a tensor.
struct TensorNode {
  int i = 0;
  int j = 0;
  std::array<std::uint16_t, node_lanes> media{};  ///< palette index of each eps_m
  std::array<NodeVector, node_lanes> lanes{};     ///< v_m
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

/// How much of the difference between two curls goes from one to the other where they are
/// averaged: C_i + sum over the averaged neighbours (C_n - C_i)/6. The matrix is
/// symmetric with eigenvalues in (1/3, 1] and mixes edges of one medium alone, so that
/// E = A C/(j Omega eps0 eps_d) is passive, and stable with the same time step.
inline constexpr double averaged_part = 1.0 / 6.0;

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
  /// (ny + 1, nx) 1 where the curls at this x edge and at the one left of it are
  /// averaged; empty: nowhere. Both have one medium, and neither has a tensor.
  std::vector<std::uint8_t> x_averaged;

  /// What the curl at x edge (i, e) and that of the edge left of it give to each other
  /// [1]: averaged_part or 0, which it is beyond either end of a row, too.
  [[nodiscard]] double averaged_with_left(int i, int e, int nx) const noexcept
  {
    const bool inside = !x_averaged.empty() && i > 0 && i < nx;
    const auto at = static_cast<std::size_t>(e) * static_cast<std::size_t>(nx) +
                    static_cast<std::size_t>(i);
    return inside && x_averaged[at] != 0 ? averaged_part : 0.0;
  }
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
  bool averaged = false;  ///< fill in x_averaged, in media with losses
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

}  // namespace torsowave::solver
