// The discrete Poynting theorem: what the source gives is absorbed or leaves through the
// contour, to rounding, whatever the cell size.

#include <cmath>
#include <complex>
#include <numeric>

#include <gtest/gtest.h>

#include "geometry/body_surface.hpp"
#include "materials/constants.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/scenes.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

struct Balance {
  double source = 0.0;
  double absorbed = 0.0;
  double flux = 0.0;
};

constexpr int source_i = 31;
constexpr int source_j = 27;

/// Air with an odd body of wet and fatty tissue, a metal rod in it, away from the rim.
scenes::Scene body()
{
  const int poles = 3;
  MediumEntry metal = scenes::air(poles);
  metal.conductor = true;
  scenes::Scene scene = scenes::uniform(
      71, 62, 12, scenes::times(poles),
      {scenes::air(poles), scenes::wet(poles), scenes::fatty(poles), metal});
  for (int j = 20; j < 42; ++j) {
    for (int i = 20; i < 50; ++i) {
      scene.cell(i, j) = (i + 2 * j) % 5 == 0 || i > 44 ? 2 : 1;
    }
  }
  for (int j = 33; j < 36; ++j) {
    scene.cell(38, j) = 3;
  }
  return scene;
}

struct RecordedRun {
  scenes::Scene scene = body();
  std::vector<double> frequencies{0.9e9, 2.45e9, 4.1e9};
  PhasorRecorder phasors{scene.grid, frequencies};
  ContourRecorder contour;
  SourceRecorder source;

  /// \param every  steps between samples
  RecordedRun(geometry::Contour around, int every)
      : contour(scene.grid, std::move(around), frequencies),
        source(scene.grid, pulse_waveform(2.5e9, 4e9).current, frequencies)
  {
    TmzStepper<double> stepper = scene.stepper<double>();
    stepper.add_source({source_i, source_j, pulse_waveform(2.5e9, 4e9).current});
    // What is still there after 23 ns fades out over four periods of 0.9 GHz.
    for (int n = 0; n < 12000; n += every) {
      stepper.advance(every);
      const double weight = fade_weight((n - 10000) / 2000.0);
      phasors.sample(stepper, weight);
      contour.sample(stepper, weight);
      source.sample(stepper.step(), weight);
    }
  }

  [[nodiscard]] Balance balance(std::size_t f) const
  {
    Balance b;
    const double dt = scene.grid.time_step;
    const double area = scene.grid.raster.cell * scene.grid.raster.cell;
    const auto ez = [&](int i, int j) {
      return phasors.row(f, j)[static_cast<std::size_t>(i)];
    };
    // -1/2 Re(E* I): the field works against the current.
    b.source = -0.5 * (std::conj(ez(source_i, source_j)) * source.sum(f)).real();
    const double omega = discrete_omega(frequencies[f], dt);
    for (int j = 0; j < scene.grid.raster.ny; ++j) {
      for (int i = 0; i < scene.grid.raster.nx; ++i) {
        if (contour.contour().inside[scene.grid.raster.at(i, j)] == 0 ||
            scene.entry(i, j).conductor) {
          continue;
        }
        const Complex eps = discrete_permittivity(
            scene.entry(i, j), scene.medium.relaxation_times, frequencies[f], dt);
        b.absorbed -= 0.5 * omega * materials::vacuum_permittivity * eps.imag() *
                      std::norm(ez(i, j)) * area;
      }
    }
    const std::vector<double> edges = contour.edge_power(f);
    b.flux = std::accumulate(edges.begin(), edges.end(), 0.0);
    return b;
  }
};

void expect_balanced(const RecordedRun& run, double tolerance)
{
  for (std::size_t f = 0; f < run.frequencies.size(); ++f) {
    const Balance b = run.balance(f);
    EXPECT_GT(b.source, 0.0);
    EXPECT_GT(b.absorbed, 0.1 * b.source);
    EXPECT_GT(b.flux, 1e-4 * b.source);
    EXPECT_NEAR((b.absorbed + b.flux) / b.source, 1.0, tolerance) << f;
  }
}

TEST(DiscretePoynting, SourcePowerIsAbsorbedOrLeavesThroughARectangle)
{
  expect_balanced(RecordedRun(geometry::rectangle_contour(body().grid.raster, 13), 1),
                  1e-10);
}

TEST(DiscretePoynting, HoldsOnAContourThroughTissue)
{
  // A ragged set of cells about the source: the contour crosses media and corners.
  const geometry::Raster raster = body().grid.raster;
  std::vector<std::uint8_t> inside(raster.size(), 0);
  for (int j = 22; j < 34; ++j) {
    for (int i = 25; i < 41 + j % 3; ++i) {
      inside[raster.at(i, j)] = 1;
    }
  }
  expect_balanced(RecordedRun(geometry::contour_of(raster, std::move(inside)), 1), 1e-10);
}

TEST(DiscretePoynting, HoldsForSparseSamples)
{
  // 8 steps are 18.7 ps; the pulse holds nothing above 8.8 GHz.
  expect_balanced(RecordedRun(geometry::rectangle_contour(body().grid.raster, 13), 8),
                  1e-8);
}

}  // namespace
}  // namespace torsowave::solver
