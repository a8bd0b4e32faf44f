// A plane wave onto a lossy cylinder in air, against the series in cylindrical waves.

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <limits>
#include <memory>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "geometry/staggered_map.hpp"
#include "geometry/tissue_map.hpp"
#include "materials/constants.hpp"
#include "postproc/far_field.hpp"
#include "solver/grid_dispersion.hpp"
#include "solver/layered_cylinder.hpp"
#include "solver/phasor_recorder.hpp"
#include "solver/plane_wave.hpp"
#include "solver/tez_medium.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::reference {
namespace {

using Complex = std::complex<double>;
using solver::Polarisation;

constexpr double frequency = 2.45e9;
constexpr double radius = 0.030;
constexpr double wanted_angle = 33.3 * std::numbers::pi / 180.0;

/// Like muscle (invented): permittivity 51.9 - j 12.7 at this frequency. The harmonic
/// means of TEz need relaxations to be fitted on.
materials::DebyePalette media()
{
  return {{9e-12, 60e-12, 600e-12},
          {{"air", false, 1.0, 0.0, {0.0, 0.0, 0.0}, 0.0, 0.0},
           {"wet", false, 6.0, 0.8, {44.0, 3.0, 8.0}, 0.0, 0.0}}};
}

Complex lossy_permittivity()
{
  const materials::DebyePalette palette = media();
  return materials::relative_permittivity(palette.media[1], palette.relaxation_times,
                                          frequency);
}

solver::cylinder::Solution exact_solution(Polarisation polarisation, double angle)
{
  return {{.layers = {{radius, lossy_permittivity()}}},
          polarisation,
          frequency,
          solver::cylinder::PlaneWave{angle}};
}

/// A square of air about the cylinder; a box of total field about 1.5 radii.
struct Scene {
  Scene(Polarisation polarisation, int cells_per_wavelength)
  {
    const double wavelength =
        materials::speed_of_light / (frequency * std::sqrt(lossy_permittivity()).real());
    const double cell = wavelength / cells_per_wavelength;
    half = static_cast<int>(std::lround(0.064 / cell)) + 14;
    const int n = 2 * half + 1;
    grid.raster = {n, n, cell, {-0.5 * n * cell, -0.5 * n * cell}};
    grid.time_step = solver::stable_time_step(cell, 0.99);
    grid.absorbing_cells = 12;
    const int reach = static_cast<int>(std::lround(0.042 / cell));
    box = {half - reach, half + reach, half - reach, half + reach};
    shapes = {{"wet", geometry::Circle{{0.0, 0.0}, radius}}};
    const std::vector<double> wanted{frequency};
    palette = solver::correct_for_grid(
        media(), {cell, grid.time_step, frequency / 1.1, frequency * 1.1, wanted,
                  polarisation == Polarisation::tez ? solver::Stencil::averaged
                                                    : solver::Stencil::plain});
  }

  [[nodiscard]] std::unique_ptr<solver::YeeStepper<double>> stepper(
      const std::shared_ptr<solver::PlaneWave>& wave, Polarisation polarisation) const
  {
    if (polarisation == Polarisation::tmz) {
      const geometry::TissueMap map =
          geometry::voxelise(grid.raster, "air", shapes, {}, geometry::Averaging::volume);
      auto stepper = std::make_unique<solver::TmzStepper<double>>(
          grid, solver::build_medium(map, palette, 12), solver::AbsorberSpec{},
          solver::StepperOptions{});
      stepper->add_injection(wave);
      return stepper;
    }
    const geometry::StaggeredMap map = geometry::cut_staggered(
        grid.raster, "air", shapes, {}, geometry::Averaging::volume, {1.0, 52.0});
    const std::vector<double> wanted{frequency};
    auto stepper = std::make_unique<solver::TezStepper<double>>(
        grid,
        solver::build_tez_medium(
            map, palette,
            {12, grid.time_step, frequency / 1.1, frequency * 1.1, wanted, -1, -1, true}),
        solver::AbsorberSpec{}, solver::StepperOptions{});
    stepper->add_injection(wave);
    return stepper;
  }

  solver::Grid grid;
  int half = 0;
  solver::CellBox box;
  std::vector<geometry::Shape> shapes;
  materials::DebyePalette palette;
};

/// Largest differences from the series over its largest value, [1].
struct Errors {
  double total = 0.0;         ///< on a circle inside the box
  double scattered = 0.0;     ///< on a circle outside it
  double far = 0.0;           ///< of the scattered wave at infinity
  double far_db = 0.0;        ///< of the scattering width, worst of all angles [dB]
  double far_depth_db = 0.0;  ///< of the width there below the largest one [dB]
  double deepest_db = 0.0;    ///< of the least width below the largest one [dB]
  double excess = 0.0;        ///< of the far field's total over the scattered power [1]
};

/// The phasors of a run, per V/m of the incident wave at the axis.
struct Run {
  const Scene* scene;
  solver::PhasorRecorder fields;
  Complex per_volt;

  [[nodiscard]] Complex at(int x, int y) const
  {
    const int column = scene->half + x;
    return per_volt * fields.row(0, scene->half + y)[static_cast<std::size_t>(column)];
  }
};

/// |found - exact| over the largest |exact| of cells about the circle of this radius.
double error_on_circle(const Run& run, const solver::cylinder::Solution& exact,
                       double unit, double rho, bool scattered)
{
  const double cell = run.scene->grid.raster.cell;
  double largest = 0.0;
  double difference = 0.0;
  for (int p = 0; p < 48; ++p) {
    const double phi = p * std::numbers::pi / 24.0;
    const auto x = static_cast<int>(std::lround(rho * std::cos(phi) / cell));
    const auto y = static_cast<int>(std::lround(rho * std::sin(phi) / cell));
    const geometry::Point point{x * cell, y * cell};
    const Complex wanted =
        unit * (scattered ? exact.scattered_at(point) : exact.at(point)).z;
    largest = std::max(largest, std::abs(wanted));
    difference = std::max(difference, std::abs(unit * run.at(x, y) - wanted));
  }
  return difference / largest;
}

/// What the scattered far field adds to `found`.
void compare_far(const Scene& scene, const solver::ContourRecorder& contour,
                 Complex per_volt, Polarisation polarisation,
                 const solver::cylinder::Solution& exact, Errors& found)
{
  constexpr int count = 360;
  std::vector<double> angles;
  angles.reserve(count);
  for (int n = 0; n < count; ++n) {
    angles.push_back(2.0 * std::numbers::pi * n / count);
  }
  const postproc::FarZone zone{polarisation, frequency, 1.0};
  const std::vector<postproc::FarPoint> far =
      postproc::far_field(scene.grid, contour, 0, zone, per_volt, angles);
  const std::vector<solver::cylinder::FarField> wanted = exact.far_field(angles);
  double largest = 0.0;
  double difference = 0.0;
  double total = 0.0;
  double least = std::numeric_limits<double>::infinity();
  double at_worst = 0.0;
  for (std::size_t n = 0; n < angles.size(); ++n) {
    largest = std::max(largest, std::abs(wanted[n].amplitude));
    least = std::min(least, std::abs(wanted[n].amplitude));
    difference = std::max(difference, std::abs(far[n].amplitude - wanted[n].amplitude));
    total += far[n].intensity * 2.0 * std::numbers::pi / count;
    const double width = postproc::scattering_width(far[n].intensity, zone);
    const double db = std::abs(10.0 * std::log10(width / wanted[n].scattering_width));
    if (db > found.far_db) {
      found.far_db = db;
      at_worst = std::abs(wanted[n].amplitude);
    }
  }
  found.far = difference / largest;
  found.far_depth_db = 20.0 * std::log10(largest / at_worst);
  found.deepest_db = 20.0 * std::log10(largest / least);
  double flux = 0.0;
  for (const double power : contour.edge_power(0)) {
    flux += power * std::norm(per_volt);
  }
  found.excess = total / flux - 1.0;
}

Errors errors(Polarisation polarisation, int cells_per_wavelength)
{
  const Scene scene(polarisation, cells_per_wavelength);
  const solver::Waveform waveform = solver::pulse_waveform(frequency, 1.5e9);
  const auto wave = std::make_shared<solver::PlaneWave>(
      scene.grid,
      solver::PlaneWaveSpec{polarisation, scene.box, wanted_angle, waveform.current, {}});
  const auto stepper = scene.stepper(wave, polarisation);
  solver::PhasorRecorder fields(scene.grid, {frequency});
  solver::ContourRecorder contour(
      scene.grid, geometry::rectangle_contour(scene.grid.raster, 14), {frequency});
  solver::IncidentRecorder incident(scene.grid, wave, scene.half, scene.half,
                                    {frequency});
  while (scene.grid.time(stepper->step()) < waveform.end + 4e-9) {
    stepper->advance(4);
    fields.sample(*stepper);
    contour.sample(*stepper);
    incident.sample();
  }
  // V/m per unit of Ez or Hz.
  const double unit =
      polarisation == Polarisation::tmz ? 1.0 : materials::vacuum_impedance;
  const Run run{&scene, std::move(fields), 1.0 / incident.sum(0)};
  const solver::cylinder::Solution exact =
      exact_solution(polarisation, wave->direction().angle());
  Errors found{error_on_circle(run, exact, unit, 0.036, false),
               error_on_circle(run, exact, unit, 0.062, true)};
  compare_far(scene, contour, run.per_volt, polarisation, exact, found);
  return found;
}

void record(const char* name, const Errors& errors)
{
  const std::string text = fmt::format(
      "{:.3e} total, {:.3e} scattered, {:.3e} far; width {:.4f} dB at {:.1f} dB below "
      "the "
      "largest (deepest {:.1f}); far total over flux {:.1e}",
      errors.total, errors.scattered, errors.far, errors.far_db, errors.far_depth_db,
      errors.deepest_db, errors.excess);
  testing::Test::RecordProperty(name, text);
}

/// 0.2 dB at 20 cells is what was asked for, `worst_db` what is held.
void expect_far(const Errors& coarse, const Errors& fine, double worst_db, double ratio)
{
  EXPECT_LT(coarse.far_db, worst_db);
  EXPECT_LT(fine.far, coarse.far / ratio);
  EXPECT_LT(fine.far_db, coarse.far_db / ratio);
  EXPECT_LT(std::abs(coarse.excess), 1e-6);
  EXPECT_LT(std::abs(fine.excess), 1e-6);
}

// Measured, in 1e-3 of the largest field, at 20 and 40 cells per wavelength:
//   total 2.7, 0.70; scattered 1.4, 0.29; far 1.09, 0.22.
// Scattering width, the worst of all 360 directions: 0.024, 0.005 dB.
TEST(PlaneWaveOnCylinder, HasTheFieldsOfTheSeriesInTmz)
{
  const Errors coarse = errors(Polarisation::tmz, 20);
  const Errors fine = errors(Polarisation::tmz, 40);
  record("coarse", coarse);
  record("fine", fine);
  EXPECT_LT(coarse.total, 3e-3);
  EXPECT_LT(coarse.scattered, 1.6e-3);
  EXPECT_LT(fine.total, coarse.total / 3.5);
  EXPECT_LT(fine.scattered, coarse.scattered / 3.5);
  expect_far(coarse, fine, 0.03, 3.5);
}

// Measured: total 1.74, 0.75, scattered 2.6, 1.08, far 2.9, 1.20; scattering width 0.038,
// 0.012 dB: order 1.2 (1.2 from 14 to 80 cells, too) at an interface at which the
// permittivity jumps by 52.
TEST(PlaneWaveOnCylinder, HasTheFieldsOfTheSeriesInTez)
{
  const Errors coarse = errors(Polarisation::tez, 20);
  const Errors fine = errors(Polarisation::tez, 40);
  record("coarse", coarse);
  record("fine", fine);
  EXPECT_LT(coarse.total, 2.1e-3);
  EXPECT_LT(coarse.scattered, 3.1e-3);
  EXPECT_LT(fine.total, 0.9e-3);
  EXPECT_LT(fine.scattered, 1.3e-3);
  expect_far(coarse, fine, 0.05, 2.2);
}

}  // namespace
}  // namespace torsowave::reference
