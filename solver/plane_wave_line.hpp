/// \file
/// \brief A plane wave on the grid as a one-dimensional recursion.

#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <vector>

#include "solver/grid.hpp"
#include "solver/medium.hpp"
#include "solver/state_archive.hpp"
#include "solver/wave_direction.hpp"

namespace torsowave::solver {

class PlaneWaveDrive;

/// One medium everywhere; vacuum by default.
struct HomogeneousMedium {
  std::vector<double> relaxation_times;  ///< tau_k [s]
  MediumEntry entry;
};

/// A plane wave travelling in a whole-number direction (x, y) of the grid, exactly as the
/// grid itself would carry it.
///
/// All samples with the same r = i x + j y are equal, so Yee's update of the centre field
/// u and of its differences g along x and y collapses, without approximation, to
///   gx(r) += u(r) - u(r - |x|),   gy(r) += u(r) - u(r - |y|)
///   u(r)  += Cb [gx(r + |x|) - gx(r) + gy(r + |y|) - gy(r)],   Cb = (c dt/dx)^2/N,
/// with loss and relaxations of Debye media as in docs/numerics.md, section 4. The first
/// max(|x|, |y|) samples are driven; behind the last one asked for follows a matched
/// layer in which the wave dies.
///
/// In TMz u is Ez, hx and hy as stored are -sign(y) gy and sign(x) gx; in TEz u is Hz as
/// stored, ex and ey are Cb sign(y) gy and -Cb sign(x) gx.
class PlaneWaveLine {
public:
  /// \param length    samples wanted: r = 0 .. length - 1
  /// \param waveform  u(0) at time [s]; 0 for negative times
  /// \throws std::invalid_argument  The medium is a conductor, has not one strength for
  ///   each relaxation time, or is not vacuum and the direction is off the axes.
  PlaneWaveLine(const Grid& grid, WaveDirection direction, int length,
                std::function<double(double)> waveform,
                const HomogeneousMedium& medium = {});
  ~PlaneWaveLine();
  PlaneWaveLine(PlaneWaveLine&&) noexcept;
  PlaneWaveLine& operator=(PlaneWaveLine&&) noexcept;

  /// From (n - 1/2) dt to (n + 1/2) dt.
  void advance_edges();
  /// From n dt to (n + 1) dt.
  void advance_centres();

  /// \see YeeStepper::save()
  void save(StateWriter& out) const;
  void restore(StateReader& in);

  [[nodiscard]] int length() const noexcept { return length_; }
  /// Cb of a centre: what it gains per unit of curl.
  [[nodiscard]] double curl() const noexcept { return curl_; }

  [[nodiscard]] double centre(int r) const { return u_[index(r)]; }
  /// Between r - |x| and r, for r >= |x|.
  [[nodiscard]] double along_x(int r) const { return x_.g[index(r)]; }
  /// Between r - |y| and r, for r >= |y|.
  [[nodiscard]] double along_y(int r) const { return y_.g[index(r)]; }

private:
  /// The matched layer at one kind of sample: a difference d becomes shrink d + psi,
  /// psi' = b psi - shrink (1 - b) d.
  struct Layer {
    std::vector<double> shrink, b, psi;
    [[nodiscard]] double damp(std::size_t p, double d);
  };
  struct Axis {
    int stride = 0;
    std::vector<double> g;
    Layer layer;
  };
  [[nodiscard]] static std::size_t index(int r) { return static_cast<std::size_t>(r); }
  [[nodiscard]] Layer layer(double offset) const;
  void set_medium(const Grid& grid, const HomogeneousMedium& medium);
  void advance_edges(Axis& axis);
  [[nodiscard]] double curl_at(std::size_t r) const
  {
    return (x_.g[r + index(x_.stride)] - x_.g[r]) +
           (y_.g[r + index(y_.stride)] - y_.g[r]);
  }
  void update_centre(std::size_t r, double curl);

  int length_;
  double cells_per_sample_;
  int driven_;
  std::unique_ptr<PlaneWaveDrive> drive_;
  double curl_ = 0.0;
  double loss_ = 0.0;
  std::vector<double> pole_, pole_gain_;
  std::vector<double> u_;
  std::vector<std::vector<double>> q_;
  Axis x_, y_;
  Layer layer_;
};

}  // namespace torsowave::solver
