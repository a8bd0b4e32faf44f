/// \file
/// \brief A long run with tissue through all sides of the absorber.

#pragma once

#include <algorithm>
#include <cmath>

#include <gtest/gtest.h>

#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {

template <class Real>
double largest_field(const TmzStepper<Real>& stepper)
{
  double largest = 0.0;
  for (int j = 0; j < stepper.grid().raster.ny; ++j) {
    for (const Real value : stepper.centre_row(j)) {
      // A NaN would slip through std::max.
      largest = std::isfinite(value)
                    ? std::max(largest, std::abs(static_cast<double>(value)))
                    : HUGE_VAL;
    }
  }
  return largest;
}

/// Fields relative to the largest one.
struct Bounds {
  double noise = 0.0;  ///< below this rounding rules, and the field need not fall
  double left = 0.0;   ///< what may be there at the end
};

/// Runs the pulse, then `chunks` times `chunk` steps, and expects that no chunk ends with
/// a larger field than the one before.
template <class Real>
void expect_stable(int chunks, int chunk, const Bounds& bounds)
{
  const scenes::Scene scene = scenes::layered(34, 34, 12, 3);
  TmzStepper<Real> stepper = scene.stepper<Real>();
  const Waveform wave = pulse_waveform(2e9, 3.6e9);
  stepper.add_source({19, 14, wave.current});
  stepper.advance(static_cast<int>(0.5 * wave.end / scene.grid.time_step));
  const double loud = largest_field(stepper);
  ASSERT_GT(loud, 1.0);
  stepper.advance(static_cast<int>(0.5 * wave.end / scene.grid.time_step) + 200);
  double before = largest_field(stepper);
  for (int n = 0; n < chunks; ++n) {
    stepper.advance(chunk);
    const double now = largest_field(stepper);
    ASSERT_LE(now, std::max(before, bounds.noise * loud)) << "after " << stepper.step();
    before = now;
  }
  EXPECT_LE(before, bounds.left * loud);
}

}  // namespace torsowave::solver
