/// \file
/// \brief The electric field of a TEz run from its recorded Hz, exactly.
///
/// The Fourier sums obey j Omega eps0 D = C = curl Hz - J, Omega = (2/dt) sin(w dt/2),
/// and E = D/eps_d in an edge's own medium (A C for C where curls are averaged,
/// TezMedium::x_averaged) or through the nodes' tensors (tez_medium.hpp)
/// with the discrete permittivities of solver::discrete_permittivity(). So only Hz need
/// be recorded.

#pragma once

#include <array>
#include <complex>
#include <cstdint>
#include <span>
#include <vector>

#include "solver/grid.hpp"
#include "solver/injection.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/tez_medium.hpp"

namespace torsowave::solver {

/// A current on one edge: the sum of J dx^2 [A m per m].
struct EdgeCurrent {
  Site site = Site::x_edge;
  int i = 0;  ///< of the x edge (i, e) or y edge (e, j)
  int j = 0;
  std::complex<double> moment;
};

/// The four currents of a LineDipole whose moment's Fourier sum is `moment`.
[[nodiscard]] std::vector<EdgeCurrent> dipole_currents(int i, int j, double direction,
                                                       std::complex<double> moment);

/// Fourier sums of Ex and Ey at one frequency.
class TezPhasors {
public:
  /// \param medium,grid,hz  must outlive the object
  TezPhasors(const TezMedium& medium, const Grid& grid, const PhasorRecorder& hz,
             std::size_t f, std::span<const EdgeCurrent> currents);

  /// Ex on edge e below row e [V/m times the scale of the sums], (nx).
  [[nodiscard]] std::span<const std::complex<double>> x_edge_row(int e) const;
  /// Ey of row j, (nx + 1).
  [[nodiscard]] std::span<const std::complex<double>> y_edge_row(int j) const;

  /// Power absorbed by each tissue of the map [W/m times the squared scale], in the cells
  /// of `inside` (ny, nx): an edge between two of them counts, one on their rim by half.
  [[nodiscard]] std::vector<double> absorbed_by_tissue(
      std::span<const std::uint8_t> inside, std::size_t tissues) const;

  /// The same power by cell [W/m^3 times the squared scale], (ny, nx), of the tissues
  /// that count: that of an edge or node goes to the cells about it by their share of
  /// such tissue, so that nothing is lost, and nothing goes to where there is none. E
  /// beside an interface is that of either side, and its square in a cell that the
  /// interface cuts would be no measure of heat. \param share    of each cell that
  /// tissues which count have, (ny, nx) [1] \param counted  by tissue of the map: 1, or 0
  /// where it does not count
  [[nodiscard]] std::vector<double> heat_by_cell(std::span<const float> share,
                                                 std::span<const double> counted) const;

private:
  /// 1/2 Re(1/(j Omega eps0 eps_d)) by palette entry [m/S], of the tissues that count.
  [[nodiscard]] std::vector<double> half_resistances(
      std::span<const double> counted) const;

  /// Values at the edges of a node: left, right, lower, upper.
  using NodeValues = std::array<std::complex<double>, 4>;

  [[nodiscard]] NodeValues node_curls(const TensorNode& node) const;
  [[nodiscard]] std::complex<double> x_curl(int i, int e) const;
  /// A C, with C of the edge itself given
  [[nodiscard]] std::complex<double> x_averaged_curl(int i, int e,
                                                     std::complex<double> here) const;
  /// Re(C* A C): |C|^2 where nothing is averaged. The sum over the edges is that of the
  /// power lost, and not negative.
  [[nodiscard]] double x_square(int i, int e) const;
  [[nodiscard]] std::complex<double> y_curl(int e, int j) const;
  void add_nodes();

  const TezMedium& medium_;
  geometry::Raster raster_;
  double omega_;
  const PhasorRecorder& hz_;
  std::size_t f_;
  std::vector<EdgeCurrent> currents_;
  std::vector<std::complex<double>> eps_;  ///< discrete, by palette entry
  std::vector<std::complex<double>> ex_;   ///< (ny + 1, nx)
  std::vector<std::complex<double>> ey_;   ///< (ny, nx + 1)
};

}  // namespace torsowave::solver
