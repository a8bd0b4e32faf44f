/// \file
/// \brief The first samples of a plane wave on the grid, as functions of time.

#pragma once

#include <functional>
#include <vector>

#include "solver/grid.hpp"
#include "solver/state_archive.hpp"
#include "solver/wave_direction.hpp"

namespace torsowave::solver {

/// The wave at r = 0 .. major - 1, when at r = 0 it is a given waveform.
///
/// Sample r follows r = 0 by the factor e^(-j k s), k the grid's own wavenumber and
/// s = r dx/|(x, y)| < dx. This is a delay of less than a cell that depends a little on
/// frequency: a sum of the waveform at neighbouring steps, with weights that meet the
/// factor in the least-squares sense from 0 to 8 cells per vacuum wavelength. Since the
/// waveform is known beforehand the sum may reach into the future.
class PlaneWaveDrive {
public:
  PlaneWaveDrive(const Grid& grid, WaveDirection direction,
                 std::function<double(double)> waveform);

  /// Goes on by one step; before the first call time is 0.
  void advance();

  void save(StateWriter& out) const
  {
    out.write_value("drive_step", step_);
    out.write("history", history_);
  }
  void restore(StateReader& in)
  {
    in.read_value("drive_step", step_);
    in.read("history", history_);
  }

  /// Sample 0 <= r < major at the present step.
  [[nodiscard]] double sample(int r) const;

private:
  struct Filter {
    int newest = 0;  ///< place of the waveform that the first weight belongs to
    std::vector<double> weights;
  };
  [[nodiscard]] Filter design(const Grid& grid, WaveDirection direction, int r) const;
  [[nodiscard]] double at_step(long step) const;

  std::function<double(double)> waveform_;
  double time_step_;
  int spacing_;                  ///< steps between the terms of a sum
  std::vector<double> history_;  ///< the waveform, newest (most future) first
  std::vector<Filter> filters_;  ///< r = 1 .. major - 1
  long step_ = 0;
};

}  // namespace torsowave::solver
