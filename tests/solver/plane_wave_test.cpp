// Plane waves in an empty grid: nothing outside the box, the grid's own wave inside.

#include "solver/plane_wave.hpp"

#include <cmath>
#include <complex>
#include <memory>
#include <numeric>
#include <stdexcept>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/illumination.hpp"
#include "solver/phasor_recorder.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using illumination::degree;

struct Case {
  Polarisation polarisation;
  double degrees;
};

std::string name(const testing::TestParamInfo<Case>& info)
{
  return std::string(info.param.polarisation == Polarisation::tmz ? "TMz" : "TEz") + "_" +
         std::to_string(std::lround(10.0 * info.param.degrees));
}

class PlaneWaves : public testing::TestWithParam<Case> {};

TEST_P(PlaneWaves, LeaveNothingOutsideTheBox)
{
  const Case& c = GetParam();
  const double leaked = illumination::leakage<double>(c.polarisation, c.degrees * degree);
  RecordProperty("leakage_dB", std::to_string(leaked));
  EXPECT_LT(leaked, -250.0);
}

/// The phasor of a plane wave of unit waveform spectrum at cell (i, j), from the
/// numerical dispersion relation alone.
Complex expected(const Grid& grid, const PlaneWave& wave, double frequency, int i, int j)
{
  const double angle = wave.direction().angle();
  const double way = grid.raster.cell * ((i - wave.reference_i()) * std::cos(angle) +
                                         (j - wave.reference_j()) * std::sin(angle));
  const Complex k = numerical_wavenumber(grid, angle, frequency);
  return std::exp(Complex(0.0, -1.0) * k * way);
}

TEST_P(PlaneWaves, CarryTheWaveformWithTheDispersionOfTheGrid)
{
  const Case& c = GetParam();
  const scenes::Scene scene = illumination::empty();
  const Waveform waveform = illumination::pulse();
  const std::vector<double> frequencies{4e9, 8e9, 12e9};
  const auto wave = illumination::wave(scene.grid, c.polarisation, c.degrees * degree,
                                       waveform.current);
  struct Cell {
    int i, j;
  };
  const std::vector<Cell> cells{{21, 22}, {60, 22}, {21, 51}, {60, 51}, {40, 37}};
  std::vector<std::vector<Complex>> sums(cells.size(),
                                         std::vector<Complex>(frequencies.size()));
  std::vector<Complex> spectrum(frequencies.size());
  IncidentRecorder recorder(scene.grid, wave, 40, 37, frequencies);
  const auto stepper = illumination::illuminated<double>(scene, wave, c.polarisation);
  const double scale = illumination::electric_scale(*stepper);
  for (long n = illumination::steps(scene.grid, waveform); n > 0; --n) {
    stepper->advance(1);
    recorder.sample();
    const double t = scene.grid.time(stepper->step());
    const std::vector<Complex> phases = sampling_phases(frequencies, t);
    for (std::size_t f = 0; f < frequencies.size(); ++f) {
      spectrum[f] += phases[f] * waveform.current(t);
      for (std::size_t p = 0; p < cells.size(); ++p) {
        sums[p][f] +=
            phases[f] * scale *
            stepper->centre_row(cells[p].j)[static_cast<std::size_t>(cells[p].i)];
      }
    }
  }
  double worst = 0.0;
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    for (std::size_t p = 0; p < cells.size(); ++p) {
      const Complex wanted = spectrum[f] * expected(scene.grid, *wave, frequencies[f],
                                                    cells[p].i, cells[p].j);
      worst = std::max(worst, std::abs(sums[p][f] / wanted - 1.0));
      EXPECT_LT(std::abs(sums[p][f] - wanted), 1e-9 * std::abs(wanted))
          << frequencies[f] << " Hz, cell " << cells[p].i << ", " << cells[p].j;
    }
    EXPECT_LT(std::abs(recorder.sum(f) - sums[4][f]), 1e-12 * std::abs(sums[4][f]));
  }
  RecordProperty("worst", std::to_string(1e12 * worst) + "e-12");
}

INSTANTIATE_TEST_SUITE_P(
    Angles, PlaneWaves,
    testing::Values(Case{Polarisation::tmz, 0.0}, Case{Polarisation::tmz, 90.0},
                    Case{Polarisation::tmz, 180.0}, Case{Polarisation::tmz, 270.0},
                    Case{Polarisation::tmz, 1.0}, Case{Polarisation::tmz, 17.0},
                    Case{Polarisation::tmz, 33.3}, Case{Polarisation::tmz, 45.0},
                    Case{Polarisation::tmz, 71.0}, Case{Polarisation::tmz, 124.0},
                    Case{Polarisation::tmz, 200.0}, Case{Polarisation::tmz, 301.5},
                    Case{Polarisation::tez, 0.0}, Case{Polarisation::tez, 90.0},
                    Case{Polarisation::tez, 180.0}, Case{Polarisation::tez, 270.0},
                    Case{Polarisation::tez, 17.0}, Case{Polarisation::tez, 33.3},
                    Case{Polarisation::tez, 45.0}, Case{Polarisation::tez, 71.0},
                    Case{Polarisation::tez, 200.0}, Case{Polarisation::tez, 301.5}),
    name);

TEST(PlaneWave, LeaksNoMoreThanRoundingInSinglePrecision)
{
  for (const Polarisation polarisation : {Polarisation::tmz, Polarisation::tez}) {
    const double leaked = illumination::leakage<float>(polarisation, 33.3 * degree);
    RecordProperty(polarisation == Polarisation::tmz ? "tmz_dB" : "tez_dB",
                   std::to_string(leaked));
    EXPECT_LT(leaked, -120.0);
  }
}

TEST(PlaneWave, IsZeroInTheBoxAtTimeZeroAndFollowsTheWaveformAtItsReference)
{
  const scenes::Scene scene = illumination::empty();
  const auto waveform = [](double t) { return t < 0.0 ? 0.0 : std::sin(4e10 * t); };
  const auto wave =
      illumination::wave(scene.grid, Polarisation::tez, 124.0 * degree, waveform);
  // 124 deg: y is the larger component, and the wave comes from the lower right.
  EXPECT_EQ(wave->reference_i(), 60);
  EXPECT_EQ(wave->reference_j(), 21);
  std::vector<double> amounts(1000);
  for (long n = 0; n < 50; ++n) {
    const double t = scene.grid.time(n);
    EXPECT_NEAR(wave->incident(60, 21), waveform(t), 1e-15);
    wave->amounts(n, amounts);
  }
}

TEST(PlaneWave, WantsABoxThatFits)
{
  const scenes::Scene scene = illumination::empty();
  const auto with = [&](CellBox box) {
    return PlaneWave(scene.grid,
                     {Polarisation::tmz, box, 0.3, [](double) { return 0.0; }, {}});
  };
  EXPECT_NO_THROW(with({13, 69, 13, 60}));
  EXPECT_NO_THROW(with({40, 40, 30, 30}));
  EXPECT_THROW(with({12, 69, 13, 60}), std::invalid_argument);
  EXPECT_THROW(with({13, 70, 13, 60}), std::invalid_argument);
  EXPECT_THROW(with({13, 69, 12, 60}), std::invalid_argument);
  EXPECT_THROW(with({13, 69, 13, 61}), std::invalid_argument);
  EXPECT_THROW(with({13, 82, 13, 60}), std::invalid_argument);
  EXPECT_THROW(with({40, 39, 30, 30}), std::invalid_argument);
}

TEST(PlaneWave, RefusesWhatItCannotDo)
{
  const scenes::Scene scene = illumination::empty();
  const HomogeneousMedium wet{scenes::times(2), scenes::wet(2)};
  PlaneWaveSpec spec{Polarisation::tmz, illumination::box(), 0.3, nullptr, {}};
  EXPECT_THROW(PlaneWave(scene.grid, spec), std::invalid_argument);
  spec.waveform = [](double) { return 0.0; };
  spec.medium = wet;
  EXPECT_THROW(PlaneWave(scene.grid, spec), std::invalid_argument);  // at an angle
  spec.angle = 0.0;
  PlaneWave on_axis(scene.grid, spec);
  spec.polarisation = Polarisation::tez;
  EXPECT_THROW(PlaneWave(scene.grid, spec), std::invalid_argument);
  std::vector<double> amounts(1000);
  EXPECT_THROW(on_axis.amounts(1, amounts), std::logic_error);
  EXPECT_THROW(static_cast<void>(on_axis.incident(0, 0)), std::out_of_range);
}

}  // namespace
}  // namespace torsowave::solver
