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
double largest_field(const Stepper<Real>& stepper)
{
  double largest = 0.0;
  for (int j = 0; j < stepper.grid().raster.ny; ++j) {
    for (const Real value : stepper.ez_row(j)) {
      // A NaN would slip through std::max.
      largest = std::isfinite(value)
                    ? std::max(largest, std::abs(static_cast<double>(value)))
                    : HUGE_VAL;
    }
  }
  return largest;
}

/// Runs `chunks` times `chunk` steps after the pulse and expects that no chunk ends with
/// a larger field than the one before, until the field is `floor` times what it was.
template <class Real>
void expect_stable(int chunks, int chunk, double floor)
{
  const scenes::Scene scene = scenes::layered(40, 40, 12, 3);
  Stepper<Real> stepper = scene.stepper<Real>();
  const Waveform wave = pulse_waveform(2e9, 3.6e9);
  stepper.add_source({22, 17, wave.current});
  stepper.advance(static_cast<int>(0.6 * wave.end / scene.grid.time_step));
  const double loud = largest_field(stepper);
  ASSERT_GT(loud, 1.0);
  stepper.advance(static_cast<int>(0.4 * wave.end / scene.grid.time_step) + 200);
  double before = largest_field(stepper);
  for (int n = 0; n < chunks; ++n) {
    stepper.advance(chunk);
    const double now = largest_field(stepper);
    ASSERT_LE(now, std::max(before, floor * loud)) << "after " << stepper.step();
    before = now;
  }
  EXPECT_LE(before, floor * loud);
}

}  // namespace torsowave::solver
