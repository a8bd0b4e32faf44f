#include "solver/tez_phasors.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <vector>

#include "geometry/body_surface.hpp"
#include "solver/scenes.hpp"
#include "solver/tez_scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

const std::vector<double> frequencies{0.9e9, 2.45e9};

/// A run to silence with all that it recorded, faded out as runs of the program are.
struct Recorded {
  explicit Recorded(bool dipole)
      : hz(scene.grid, frequencies),
        contour(scene.grid, geometry::rectangle_contour(scene.grid.raster, 12),
                frequencies),
        ex(frequencies.size()),
        ey(frequencies.size()),
        source(frequencies.size())
  {
    TezStepper<double> stepper = scene.stepper<double>();
    const Waveform waveform = pulse_waveform(1.8e9, 2.5e9);
    if (dipole) {
      stepper.add_source(LineDipole{i, j, direction, waveform.current});
    } else {
      stepper.add_source(MagneticLine{i, j, waveform.current});
    }
    // A dipole's reactive field makes the peak: what radiates is as far down earlier.
    const double silence = dipole ? 1e-10 : 1e-13;
    double peak = 0.0;
    for (double energy = 0.0;
         scene.grid.time(stepper.step()) < waveform.end || energy > silence * peak;) {
      stepper.advance(10);
      sample(stepper, waveform, dipole ? 0.0 : 0.5, 1.0);
      energy = stepper.energy();
      peak = std::max(peak, energy);
    }
    const double fade = 4.0 / frequencies.front();
    const double begin = scene.grid.time(stepper.step());
    for (double x = 0.0; x < 1.0; x = (scene.grid.time(stepper.step()) - begin) / fade) {
      stepper.advance(10);
      sample(stepper, waveform, dipole ? 0.0 : 0.5, fade_weight(x));
    }
  }

  void sample(const TezStepper<double>& stepper, const Waveform& waveform, double early,
              double weight)
  {
    hz.sample(stepper, weight);
    contour.sample(stepper, weight);
    const double dt = scene.grid.time_step;
    const double now = scene.grid.time(stepper.step());
    const std::vector<Complex> at_edge =
        sampling_phases(frequencies, now - 0.5 * dt, weight);
    const std::vector<Complex> at_source =
        sampling_phases(frequencies, now - early * dt, weight);
    for (std::size_t f = 0; f < frequencies.size(); ++f) {
      source[f] += at_source[f] * waveform.current(now - early * dt);
      std::size_t p = 0;
      ex[f].resize(std::size_t{81} * 80);
      ey[f].resize(std::size_t{81} * 80);
      for (int e = 0; e <= 80; ++e) {
        for (const double value : stepper.x_edge_row(e)) {
          ex[f][p++] += at_edge[f] * value;
        }
      }
      p = 0;
      for (int row = 0; row < 80; ++row) {
        for (const double value : stepper.y_edge_row(row)) {
          ey[f][p++] += at_edge[f] * value;
        }
      }
    }
  }

  scenes::TezScene scene = scenes::round_body(80, 80, 1e-3, 8, scenes::times(3));
  int i = 44;
  int j = 38;
  double direction = 0.4;
  PhasorRecorder hz;
  ContourRecorder contour;
  std::vector<std::vector<Complex>> ex;
  std::vector<std::vector<Complex>> ey;
  std::vector<Complex> source;
};

double largest_difference(const std::vector<Complex>& recorded, const TezPhasors& phasors,
                          bool along_x)
{
  double largest = 0.0;
  double difference = 0.0;
  // Away from the absorber, where the media alone decide.
  for (int row = 10; row < 70; ++row) {
    const auto values = along_x ? phasors.x_edge_row(row) : phasors.y_edge_row(row);
    const std::size_t width = along_x ? 80 : 81;
    for (std::size_t c = 10; c < 70; ++c) {
      const Complex direct = recorded[static_cast<std::size_t>(row) * width + c];
      largest = std::max(largest, std::abs(direct));
      difference = std::max(difference, std::abs(direct - values[c]));
    }
  }
  return difference / largest;
}

class TezPhasorsOf : public testing::TestWithParam<bool> {};

TEST_P(TezPhasorsOf, AreTheSumsOfTheSteppedFieldAndBalanceThePower)
{
  const bool dipole = GetParam();
  const Recorded run(dipole);
  ASSERT_GT(run.scene.medium.nodes.size(), 100U);
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    std::vector<EdgeCurrent> currents;
    if (dipole) {
      currents = dipole_currents(run.i, run.j, run.direction, run.source[f]);
    }
    const TezPhasors phasors(run.scene.medium, run.scene.grid, run.hz, f, currents);
    EXPECT_LT(largest_difference(run.ex[f], phasors, true), 1e-7);
    EXPECT_LT(largest_difference(run.ey[f], phasors, false), 1e-7);

    double delivered = 0.0;
    for (const EdgeCurrent& current : currents) {
      const Complex e =
          current.site == Site::x_edge
              ? phasors.x_edge_row(current.j)[static_cast<std::size_t>(current.i)]
              : phasors.y_edge_row(current.j)[static_cast<std::size_t>(current.i)];
      delivered -= 0.5 * (e * std::conj(current.moment)).real();
    }
    if (!dipole) {
      delivered = -0.5 * (run.hz.row(f, run.j)[static_cast<std::size_t>(run.i)] *
                          std::conj(run.source[f]))
                             .real();
    }
    const std::vector<double> absorbed =
        phasors.absorbed_by_tissue(run.contour.contour().inside, 3);
    // Cell by cell it is the same heat, and none where it may not be.
    const geometry::Raster& raster = run.scene.grid.raster;
    std::vector<float> share(raster.size(), 1.0F);
    share[raster.at(44, 41)] = 0.0F;
    const std::vector<double> heat =
        phasors.heat_by_cell(share, std::vector<double>{1.0, 1.0, 1.0});
    const std::vector<std::uint8_t> everywhere(raster.size(), 1);
    const std::vector<double> all = phasors.absorbed_by_tissue(everywhere, 3);
    EXPECT_NEAR(std::accumulate(heat.begin(), heat.end(), 0.0) * raster.cell *
                    raster.cell / std::accumulate(all.begin(), all.end(), 0.0),
                1.0, 1e-10);
    EXPECT_EQ(heat[raster.at(44, 41)], 0.0);
    const std::vector<double> flux = run.contour.edge_power(f);
    const double radiated = std::accumulate(flux.begin(), flux.end(), 0.0);
    const double lost = std::accumulate(absorbed.begin(), absorbed.end(), 0.0);
    EXPECT_GT(radiated, 0.0);
    EXPECT_GT(absorbed[1], 0.0);
    EXPECT_GT(absorbed[2], 0.0);
    EXPECT_EQ(absorbed[0], 0.0);
    EXPECT_LT(std::abs(delivered - lost - radiated), 1e-7 * delivered)
        << "delivered " << delivered << " lost " << lost << " radiated " << radiated;
  }
}

INSTANTIATE_TEST_SUITE_P(Sources, TezPhasorsOf, testing::Values(false, true),
                         [](const auto& which) {
                           return which.param ? "Dipole" : "MagneticLine";
                         });

}  // namespace
}  // namespace torsowave::solver
