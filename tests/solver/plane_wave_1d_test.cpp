// Plane waves on one-row grids: through air and through tissue, onto half-spaces.

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <memory>
#include <numbers>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/grid_layers.hpp"
#include "solver/illumination.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/plane_wave.hpp"
#include "solver/scenes.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;

constexpr double pi = std::numbers::pi;

/// One row of 0.5 mm cells of `left`, from column `interface` on `right`.
scenes::Scene row(int nx, int interface, const MediumEntry& left,
                  const MediumEntry& right, int absorbing_cells = 60)
{
  scenes::Scene scene = scenes::uniform(
      nx, 1, absorbing_cells, scenes::times(static_cast<int>(left.strengths.size())),
      {left, right});
  scene.grid.raster.cell = 0.5e-3;
  scene.grid.time_step = stable_time_step(0.5e-3, 0.99, 1);
  for (int i = interface; i < nx; ++i) {
    scene.cell(i, 0) = 1;
  }
  return scene;
}

std::shared_ptr<PlaneWave> wave_in(const scenes::Scene& scene, int first, int last,
                                   double angle, const MediumEntry& medium)
{
  return std::make_shared<PlaneWave>(
      scene.grid, PlaneWaveSpec{Polarisation::tmz,
                                {first, last, 0, 0},
                                angle,
                                pulse_waveform(2e9, 3e9).current,
                                {scene.medium.relaxation_times, medium}});
}

/// Largest |Ez| in columns first .. last of a row.
double largest(const TmzStepper<double>& stepper, int first, int last)
{
  double result = 0.0;
  for (int i = first; i <= last; ++i) {
    result =
        std::max(result, std::abs(stepper.centre_row(0)[static_cast<std::size_t>(i)]));
  }
  return result;
}

struct EmptyRow {
  std::string name;
  MediumEntry medium;
  double angle;
  int first, last;  ///< of 300 columns
};

class RowOfOneMedium : public testing::TestWithParam<EmptyRow> {};

TEST_P(RowOfOneMedium, IsDarkOutsideTheTotalField)
{
  const EmptyRow& c = GetParam();
  const scenes::Scene scene = row(300, 300, c.medium, c.medium);
  TmzStepper<double> stepper = scene.stepper<double>();
  stepper.add_injection(wave_in(scene, c.first, c.last, c.angle, c.medium));
  double inside = 0.0;
  double outside = 0.0;
  while (scene.grid.time(stepper.step()) < 8e-9) {
    stepper.advance(1);
    inside = std::max(inside, largest(stepper, c.first, c.last));
    outside = std::max(
        {outside, largest(stepper, 0, c.first - 1), largest(stepper, c.last + 1, 299)});
  }
  RecordProperty("leakage_dB", std::to_string(illumination::decibel(outside / inside)));
  EXPECT_GT(inside, 0.1);
  // What passes on through the right absorber comes back from there: its echo, seen
  // outside, is that of the absorber and not of the wave.
  const bool open = c.first == 0 || c.last == 299;
  EXPECT_LT(illumination::decibel(outside / inside), open ? -160.0 : -280.0);
}

INSTANTIATE_TEST_SUITE_P(
    Media, RowOfOneMedium,
    testing::Values(EmptyRow{"air", scenes::air(2), 0.0, 80, 220},
                    EmptyRow{"air_leftwards", scenes::air(2), pi, 80, 220},
                    EmptyRow{"air_open", scenes::air(2), 0.0, 80, 299},
                    EmptyRow{"air_open_leftwards", scenes::air(2), pi, 0, 220},
                    EmptyRow{"wet", scenes::wet(2), 0.0, 80, 220},
                    EmptyRow{"wet_leftwards", scenes::wet(2), pi, 80, 220},
                    EmptyRow{"wet_open", scenes::wet(2), 0.0, 80, 299},
                    EmptyRow{"fatty", scenes::fatty(2), 0.0, 100, 130}),
    [](const auto& test) { return test.param.name; });

/// k dx of a medium on the grid.
Complex phase_per_cell(const scenes::Scene& scene, const MediumEntry& medium,
                       double frequency)
{
  const Complex eps = discrete_permittivity(medium, scene.medium.relaxation_times,
                                            frequency, scene.grid.time_step);
  return scene.grid.raster.cell * numerical_wavenumber(scene.grid, 0.0, frequency, eps);
}

/// Fresnel's coefficients as the grid has them (derived here). Left of the interface
/// E_i = e^(-j a i) + R e^(j a i), right of it E_i = T e^(-j b i), with i = 0 the first
/// cell on the right. Each half obeys its own difference equation up to its last cell if
/// the other half is its continuation by one cell: both forms agree at i = 0 and i = -1,
///   1 + R = T,   e^(j a) + R e^(-j a) = T e^(j b).
struct Fresnel {
  Complex reflected, transmitted;
};
Fresnel numerical_fresnel(Complex a, Complex b)
{
  const Complex j(0.0, 1.0);
  const Complex r =
      (std::exp(j * b) - std::exp(j * a)) / (std::exp(-j * a) - std::exp(j * b));
  return {r, 1.0 + r};
}

struct Sums {
  PhasorRecorder fields;
  std::vector<Complex> incident;  ///< at the reference cell
};

Sums run(const scenes::Scene& scene, const std::shared_ptr<PlaneWave>& wave,
         const std::vector<double>& frequencies)
{
  TmzStepper<double> stepper = scene.stepper<double>();
  stepper.add_injection(wave);
  Sums sums{PhasorRecorder(scene.grid, frequencies), {}};
  IncidentRecorder incident(scene.grid, wave, wave->reference_i(), wave->reference_j(),
                            frequencies);
  // The conducting half-space rings down by a power law; cut off after 40 ns it would
  // cost up to 1.5e-5.
  while (scene.grid.time(stepper.step()) < 40e-9) {
    stepper.advance(1);
    const double weight = fade_weight((scene.grid.time(stepper.step()) - 15e-9) / 25e-9);
    sums.fields.sample(stepper, weight);
    incident.sample(weight);
  }
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    sums.incident.push_back(incident.sum(f));
  }
  return sums;
}

/// A pulse from `left` onto a half-space of `right` that begins at column 140; largest
/// relative errors of R and T at eight frequencies.
Fresnel largest_errors(const MediumEntry& left, const MediumEntry& right)
{
  constexpr int interface = 140;
  const scenes::Scene scene = row(300, interface, left, right);
  const std::vector<double> frequencies{0.5e9, 0.9e9, 1.3e9, 1.7e9,
                                        2.1e9, 2.5e9, 2.9e9, 3.3e9};
  const auto wave = wave_in(scene, 100, 299, 0.0, left);
  const Sums sums = run(scene, wave, frequencies);
  Fresnel worst{0.0, 0.0};
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    const Complex j(0.0, 1.0);
    const Complex a = phase_per_cell(scene, left, frequencies[f]);
    const Complex b = phase_per_cell(scene, right, frequencies[f]);
    const Fresnel exact = numerical_fresnel(a, b);
    const Complex at_interface =
        sums.incident[f] * std::exp(-j * a * double{interface} +
                                    j * a * static_cast<double>(wave->reference_i()));
    const Complex r = sums.fields.row(f, 0)[90] / at_interface *
                      std::exp(-j * a * double{90 - interface});
    const Complex t =
        sums.fields.row(f, 0)[interface + 9] / at_interface * std::exp(j * b * 9.0);
    worst.reflected =
        std::max(worst.reflected.real(), std::abs(r / exact.reflected - 1.0));
    worst.transmitted =
        std::max(worst.transmitted.real(), std::abs(t / exact.transmitted - 1.0));
  }
  return worst;
}

TEST(HalfSpace, ReflectsAndTransmitsAsFresnelOnTheGrid)
{
  const auto expect = [](const char* name, const MediumEntry& left,
                         const MediumEntry& right) {
    const Fresnel errors = largest_errors(left, right);
    EXPECT_LT(errors.reflected.real(), 1e-6) << name;
    EXPECT_LT(errors.transmitted.real(), 1e-6) << name;
    testing::Test::RecordProperty(
        name, std::to_string(1e9 * errors.reflected.real()) + "e-9, " +
                  std::to_string(1e9 * errors.transmitted.real()) + "e-9");
  };
  expect("air_to_wet", scenes::air(2), scenes::wet(2));
  expect("wet_to_air", scenes::wet(2), scenes::air(2));
  expect("fatty_to_wet", scenes::fatty(2), scenes::wet(2));
}

TEST(HalfSpace, BehindLayersHasTheFieldsOfTheGridsOwnSolution)
{
  // Air, 6 mm of fatty tissue, then wet tissue for ever.
  scenes::Scene scene = row(300, 152, scenes::air(2), scenes::wet(2));
  scene.medium.palette.push_back(scenes::fatty(2));
  for (int i = 140; i < 152; ++i) {
    scene.cell(i, 0) = 2;
  }
  const std::vector<double> frequencies{0.6e9, 1.5e9, 2.45e9, 3.2e9};
  const auto wave = wave_in(scene, 100, 299, 0.0, scenes::air(2));
  const Sums sums = run(scene, wave, frequencies);
  double worst = 0.0;
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    const GridLayers layers = grid_layers(scene.medium, scene.grid.raster.cell,
                                          scene.grid.time_step, frequencies[f]);
    const GridPlaneWave exact = solve_plane_wave(layers);
    // The exact wave is 1 V/m at edge 0, half a cell before the centre of cell 0.
    const double cells =
        wave->reference_i() - static_cast<double>(layers.first_cell) + 0.5;
    const Complex a = phase_per_cell(scene, scenes::air(2), frequencies[f]);
    const Complex at_edge = sums.incident[f] * std::exp(Complex(0.0, 1.0) * a * cells);
    for (int i = 100; i < 240; ++i) {
      const Complex wanted =
          at_edge * exact.fields.e.at(static_cast<std::size_t>(i) - layers.first_cell);
      worst = std::max(
          worst, std::abs(sums.fields.row(f, 0)[static_cast<std::size_t>(i)] - wanted) /
                     std::abs(at_edge));
    }
  }
  RecordProperty("worst", std::to_string(1e9 * worst) + "e-9");
  EXPECT_LT(worst, 1e-6);
}

TEST(PlaneWave, InOneDimensionWantsAFaceWhereItComesFrom)
{
  const scenes::Scene scene = row(300, 300, scenes::air(0), scenes::air(0));
  const auto make = [&](int first, int last, double angle) {
    return wave_in(scene, first, last, angle, scenes::air(0));
  };
  EXPECT_NO_THROW(make(61, 238, 0.0));
  EXPECT_NO_THROW(make(61, 299, 0.0));
  EXPECT_NO_THROW(make(0, 238, pi));
  EXPECT_THROW(make(0, 238, 0.0), std::invalid_argument);
  EXPECT_THROW(make(60, 299, 0.0), std::invalid_argument);
  EXPECT_THROW(make(61, 290, 0.0), std::invalid_argument);
  EXPECT_THROW(make(61, 299, pi), std::invalid_argument);
  EXPECT_THROW(make(61, 238, 0.1), std::invalid_argument);
}

/// What comes back from the end of a line of `length` cells: against a line so long that
/// its end stays unheard [dB].
double echo(const Grid& grid, WaveDirection direction, const HomogeneousMedium& medium)
{
  const Waveform waveform = pulse_waveform(3e9, 3e9);
  const auto samples = [&](int cells) {
    return static_cast<int>(std::lround(cells * direction.length()));
  };
  PlaneWaveLine line(grid, direction, samples(20), waveform.current, medium);
  PlaneWaveLine longer(grid, direction, samples(900), waveform.current, medium);
  double largest = 0.0;
  double difference = 0.0;
  for (int n = 0; n < 1600; ++n) {
    for (PlaneWaveLine* each : {&line, &longer}) {
      each->advance_edges();
      each->advance_centres();
    }
    const int r = line.length() - 1;
    largest = std::max(largest, std::abs(longer.centre(r)));
    difference = std::max(difference, std::abs(line.centre(r) - longer.centre(r)));
  }
  EXPECT_GT(largest, 0.01);
  return illumination::decibel(difference / largest);
}

TEST(PlaneWaveLine, SendsNothingBackFromItsEnd)
{
  const Grid plane = scenes::uniform(100, 100, 12, {}, {scenes::air(0)}).grid;
  const Grid one_row = row(100, 100, scenes::air(0), scenes::air(0), 12).grid;
  const HomogeneousMedium wet{scenes::times(2), scenes::wet(2)};
  const HomogeneousMedium fatty{scenes::times(2), scenes::fatty(2)};
  const std::vector<std::pair<const char*, double>> echoes{
      {"axis", echo(plane, {1, 0}, {})},          {"diagonal", echo(plane, {1, 1}, {})},
      {"30_deg", echo(plane, {19, 11}, {})},      {"1_deg", echo(plane, {60, 1}, {})},
      {"row_air", echo(one_row, {1, 0}, {})},     {"row_wet", echo(one_row, {1, 0}, wet)},
      {"row_fatty", echo(one_row, {1, 0}, fatty)}};
  for (const auto& [name, level] : echoes) {
    RecordProperty(name, std::to_string(level));
    EXPECT_LT(level, -180.0) << name;
  }
}

}  // namespace
}  // namespace torsowave::solver
