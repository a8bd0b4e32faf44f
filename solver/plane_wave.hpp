/// \file
/// \brief Illumination by a plane wave: total field inside a box, scattered field
/// outside.

#pragma once

#include <complex>
#include <cstddef>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "solver/grid.hpp"
#include "solver/injection.hpp"
#include "solver/plane_wave_line.hpp"
#include "solver/wave_direction.hpp"
#include "solver/yee_stepper.hpp"

namespace torsowave::solver {

/// What illuminates the grid.
struct PlaneWaveSpec {
  Polarisation polarisation = Polarisation::tmz;
  CellBox box;         ///< cells that hold the total field
  double angle = 0.0;  ///< direction of travel, counter-clockwise from +x [rad]
  /// Electric field [V/m] at the reference cell at time [s]; 0 for negative times.
  std::function<double(double)> waveform;
  HomogeneousMedium medium;  ///< what the rim of the box lies in
};

/// Adds a plane wave along the rim of a box (total-field/scattered-field; K. R.
/// Umashankar, A. Taflove, IEEE Trans. Electromagn. Compat. 24 (1982) 397-405, from
/// memory). The incident wave is a solution of the grid's own equations
/// (PlaneWaveLine), so nothing but rounding leaves an empty box.
///
/// In TMz the incident field is Ez; in TEz it is E along (-sin, cos) of the angle with
/// Hz = E/eta0, eta0 that of vacuum.
///
/// The rim must lie in `medium` throughout, at least one cell in front of the absorber;
/// this class sees no media, so the caller checks. In two dimensions at an angle to the
/// axes, and in TEz, `medium` must be vacuum. On a one-row grid the side from which the
/// wave comes has a face; the other side may have one, or the total field goes on to the
/// wall (last_i = nx - 1, or first_i = 0 for a wave towards -x).
class PlaneWave final : public Injection {
public:
  /// \throws std::invalid_argument  The box does not fit into the grid, the angle does
  ///   not fit the grid or the medium, or there is no waveform.
  PlaneWave(const Grid& grid, PlaneWaveSpec spec);

  [[nodiscard]] const std::vector<InjectionSpan>& spans() const noexcept override
  {
    return spans_;
  }
  /// \throws std::logic_error  `step` is not the one that follows.
  void amounts(long step, std::span<double> values) override;

  void save(StateWriter& out) const override;
  void restore(StateReader& in) override;

  /// Direction in fact used: the whole-number direction nearest to the one asked for.
  [[nodiscard]] WaveDirection direction() const noexcept { return direction_; }

  /// The reference cell: the neighbour, outside the box, of the corner that the wave
  /// reaches first. There the incident field is the waveform itself; in the box it is
  /// zero at time 0.
  [[nodiscard]] int reference_i() const noexcept { return reference_i_; }
  [[nodiscard]] int reference_j() const noexcept { return reference_j_; }

  /// Steps done so far.
  [[nodiscard]] long step() const noexcept { return step_; }

  /// Incident field at the centre of a cell of the box or of the reference cell at time
  /// step() dt [V/m]: Ez, or eta0 Hz.
  /// \throws std::out_of_range  Another cell.
  [[nodiscard]] double incident(int i, int j) const;

private:
  /// weight times sample `at` of the line is added to amount `slot`.
  struct Term {
    std::size_t slot = 0;
    int at = 0;
    double weight = 0.0;
  };
  struct Builder;
  [[nodiscard]] int line_index(int i, int j) const noexcept;
  void place_terms(const Grid& grid);

  Polarisation polarisation_;
  CellBox box_;
  WaveDirection direction_;
  int reference_i_ = 0;
  int reference_j_ = 0;
  double to_electric_;  ///< V/m per unit of the line's u
  std::unique_ptr<PlaneWaveLine> line_;
  std::vector<InjectionSpan> spans_;
  std::vector<Term> from_centres_, from_x_, from_y_;
  long step_ = 0;
};

/// Sums of the incident field at one cell: what recorded phasors are divided by.
///
/// At other cells the incident phasor is this one times e^(-j k d) with k =
/// numerical_wavenumber() and d the way from this cell along the direction in fact used.
class IncidentRecorder {
public:
  /// \param i,j  a cell of the box, or the reference cell
  /// \throws std::out_of_range  Another cell.
  IncidentRecorder(const Grid& grid, std::shared_ptr<const PlaneWave> wave, int i, int j,
                   std::vector<double> frequencies);

  /// Adds the present incident field, at time wave.step() dt, times `weight`: to be
  /// called whenever PhasorRecorder::sample() is.
  void sample(double weight = 1.0);
  void restart();
  void save(StateWriter& out) const { out.write("incident", sums_); }
  void restore(StateReader& in) { in.read("incident", sums_); }

  /// Sum of E e^(-j w t) at frequency index f [V/m]; in TEz E is eta0 Hz.
  [[nodiscard]] std::complex<double> sum(std::size_t f) const { return sums_.at(f); }

private:
  Grid grid_;
  std::shared_ptr<const PlaneWave> wave_;
  int i_;
  int j_;
  std::vector<double> frequencies_;
  std::vector<std::complex<double>> sums_;
};

}  // namespace torsowave::solver
