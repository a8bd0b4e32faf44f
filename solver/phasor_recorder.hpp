/// \file
/// \brief Running Fourier sums of the fields at chosen frequencies.
///
/// A sum over samples at t = n dt (centres) and t = (n - 1/2) dt (edges, source), each
/// with the phase of its own time, keeps Maxwell's discrete equations exactly: what the
/// sums say about power is exact, not second-order accurate. Sampling every M steps does
/// the same as long as the field holds nothing above half the sample rate. All sums are
/// double precision.

#pragma once

#include <complex>
#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "geometry/body_surface.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::solver {

/// weight e^(-j 2 pi f t) at time t [s] for each frequency.
[[nodiscard]] std::vector<std::complex<double>> sampling_phases(
    std::span<const double> frequencies, double time, double weight = 1.0);

/// Fades a Fourier sum out instead of cutting it: 1 at x <= 0, 0 at x >= 1.
///
/// In two dimensions a lossy body rings down by power laws at low frequency. Cut off at
/// E(T), such a tail leaks E(T)/(j w) into every frequency. The fade is one minus the
/// integral of the four-term Blackman-Harris window: lasting at least four periods of a
/// frequency it lowers that leak by its side lobes, 92 dB, and since it is slow,
/// Maxwell's equations between the sums keep as well. \see F. J. Harris, Proc. IEEE 66
/// (1978) 51-83 (coefficients from memory).
[[nodiscard]] double fade_weight(double x) noexcept;

/// Sums of the centre field, Ez [V/m] or Hz [A/m], over the whole grid or a part of it.
class PhasorRecorder {
public:
  /// \param frequencies  [Hz]
  PhasorRecorder(const Grid& grid, std::vector<double> frequencies);

  /// \param cells  where sums are taken; elsewhere they stay 0
  PhasorRecorder(const Grid& grid, std::vector<double> frequencies, const CellBox& cells);

  /// Adds the present field times `weight`.
  template <class Real>
  void sample(const YeeStepper<Real>& stepper, double weight = 1.0);

  /// Starts anew (a CW run looks at one period after another).
  void restart();

  /// The sums, where they are taken. \see YeeStepper::save()
  void save(StateWriter& out) const;
  void restore(StateReader& in);

  /// Sum of field times e^(-j w t) of row j at frequency index f [V/m or A/m], (nx).
  [[nodiscard]] std::span<const std::complex<double>> row(std::size_t f, int j) const;

  [[nodiscard]] std::span<const double> frequencies() const noexcept
  {
    return frequencies_;
  }

  /// Memory of a recorder of this size [bytes].
  [[nodiscard]] static std::uint64_t memory_bytes(int nx, int ny,
                                                  std::size_t frequencies);

private:
  geometry::Raster raster_;
  CellBox cells_;
  std::vector<double> frequencies_;
  std::vector<std::vector<std::complex<double>>> sums_;  ///< by frequency: (ny, nx)
};

/// Sums of the centre field and of the tangential edge field along a contour.
class ContourRecorder {
public:
  ContourRecorder(const Grid& grid, geometry::Contour contour,
                  std::vector<double> frequencies);

  /// Adds the present fields times `weight`.
  template <class Real>
  void sample(const YeeStepper<Real>& stepper, double weight = 1.0);

  void restart();
  void save(StateWriter& out) const;
  void restore(StateReader& in);

  /// Power flowing outward through each edge [W/m] times the squared scale of the sums:
  /// the flux of the discrete Poynting theorem, -+ 1/2 Re(E H*) dx with E the mean of
  /// both sides.
  [[nodiscard]] std::vector<double> edge_power(std::size_t f) const;

  /// Sums at frequency index f by edge of the contour: the mean of the centre field on
  /// both sides, Ez [V/m] or Hz [A/m], and the tangential edge field, H [A/m] or E [V/m].
  [[nodiscard]] std::span<const std::complex<double>> centre_sums(std::size_t f) const
  {
    return centre_.at(f);
  }
  [[nodiscard]] std::span<const std::complex<double>> edge_sums(std::size_t f) const
  {
    return edge_.at(f);
  }

  [[nodiscard]] const geometry::Contour& contour() const noexcept { return contour_; }

private:
  geometry::Contour contour_;
  double cell_;
  double time_step_;
  std::vector<double> frequencies_;
  std::vector<std::vector<std::complex<double>>> centre_;  ///< by frequency: (edges)
  std::vector<std::vector<std::complex<double>>> edge_;
  double sign_ = 1.0;
};

/// Sums of the source's current, at the times at which it drives the recorded fields.
class SourceRecorder {
public:
  /// \param early  how long before the centre field's time the current is taken [steps]:
  ///   1/2 where it drives centres, 0 where it drives edges
  SourceRecorder(const Grid& grid, std::function<double(double)> current,
                 std::vector<double> frequencies, double early = 0.5);

  /// Adds the current that belongs to `step`, times `weight`.
  void sample(long step, double weight = 1.0);
  void restart();
  void save(StateWriter& out) const { out.write("source", sums_); }
  void restore(StateReader& in) { in.read("source", sums_); }

  /// Sum of i e^(-j w t) at frequency index f [A].
  [[nodiscard]] std::complex<double> sum(std::size_t f) const { return sums_.at(f); }

private:
  Grid grid_;
  std::function<double(double)> current_;
  std::vector<double> frequencies_;
  double early_;
  std::vector<std::complex<double>> sums_;
};

}  // namespace torsowave::solver
