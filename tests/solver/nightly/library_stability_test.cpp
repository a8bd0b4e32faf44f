// A million steps through every material of the library, in single precision: wedges of
// all of them, with mixtures along their edges, run from the middle through the absorber;
// in the middle a capsule with the source.

#include <algorithm>
#include <cmath>
#include <complex>
#include <iostream>
#include <numbers>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "geometry/staggered_map.hpp"
#include "geometry/tissue_map.hpp"
#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "solver/medium.hpp"
#include "solver/tez_medium.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

constexpr int cells = 72;
constexpr int absorbing = 10;
constexpr double cell = 1e-3;
constexpr double courant = 0.99;
/// Of an energy that stays: TMz keeps a magnetic field at rest. A thousand times that is
/// nothing.
constexpr double rounding = 1e-6;
constexpr materials::FitRequest request{0.3e9, 6e9, {}, 0.05};

/// All of the library, air first.
std::vector<materials::Tissue> library()
{
  std::vector<materials::Tissue> all{*materials::find_tissue("air")};
  for (const materials::Tissue& tissue : materials::tissue_library()) {
    if (tissue.name != "air") {
      all.push_back(tissue);
    }
  }
  return all;
}

/// A wedge of each but air, in the order of the library.
std::vector<geometry::Shape> wedges(const std::vector<materials::Tissue>& all)
{
  std::vector<geometry::Shape> shapes;
  const auto count = static_cast<double>(all.size() - 1);
  for (std::size_t n = 1; n < all.size(); ++n) {
    const auto rim = [&](double number) {
      const double angle = 2.0 * std::numbers::pi * (number + 0.13) / count;
      return geometry::Point{0.1 * std::cos(angle), 0.1 * std::sin(angle)};
    };
    const auto number = static_cast<double>(n);
    shapes.push_back(
        {all[n].name, geometry::Polygon{{{0.0, 0.0}, rim(number), rim(number + 1.0)}}});
  }
  return shapes;
}

struct Library {
  std::vector<materials::Tissue> tissues = library();
  materials::DebyePalette media = materials::fit_debye(tissues, request);
  std::vector<geometry::Shape> shapes = wedges(tissues);
  std::vector<geometry::Shape> capsule{
      {"air", geometry::Circle{{0.3 * cell, -0.2 * cell}, 4.0 * cell}}};
  Grid grid;
  AbsorberSpec absorber;

  Library()
  {
    grid.raster = {cells, cells, cell, {-0.5 * cells * cell, -0.5 * cells * cell}};
    grid.time_step = stable_time_step(cell, courant);
    grid.absorbing_cells = absorbing;
    absorber.cells = absorbing;
  }
};

const Waveform& wave()
{
  static const Waveform pulse = pulse_waveform(2e9, 3.6e9);
  return pulse;
}

/// What a million steps leave behind.
struct Course {
  double peak = 0.0;    ///< energy when the source is silent [J/m]
  double left = 0.0;    ///< at the end [J/m]
  double growth = 0.0;  ///< largest energy over the one 1000 steps before
};

Course million_steps(YeeStepper<float>& stepper)
{
  stepper.advance(static_cast<int>(wave().end / stepper.grid().time_step) + 1);
  Course course{stepper.energy(), stepper.energy(), 0.0};
  for (int n = 0; n < 1000; ++n) {
    stepper.advance(1000);
    const double energy = stepper.energy();
    course.growth = std::max(course.growth, energy / course.left);
    course.left = energy;
  }
  std::cout << stepper.step() << " steps: energy " << course.left / course.peak
            << " of that when the source fell silent, most growth over 1000 steps "
            << "1 + " << course.growth - 1.0 << "\n";
  return course;
}

TEST(LibraryStability, TmzEnergyFallsForAMillionSteps)
{
  const Library all;
  const geometry::TissueMap map = geometry::voxelise(
      all.grid.raster, "air", all.shapes, all.capsule, geometry::Averaging::volume);
  ASSERT_EQ(map.tissues.size(), all.tissues.size());
  ASSERT_GT(map.palette.size(), map.tissues.size() + 100);  // mixtures
  TmzStepper<float> stepper(all.grid, build_medium(map, all.media, absorbing),
                            all.absorber, {});
  stepper.add_source({cells / 2, cells / 2, wave().current});
  const Course course = million_steps(stepper);
  EXPECT_GT(course.peak, 0.0);
  EXPECT_LE(course.growth, 1.0 + rounding);
  EXPECT_LE(course.left, 1e-6 * course.peak);
}

TEST(LibraryStability, TezEnergyFallsForAMillionSteps)
{
  const Library all;
  std::vector<double> contrast;
  for (const materials::Tissue& tissue : all.tissues) {
    contrast.push_back(std::abs(materials::relative_permittivity(tissue, 1e9)));
  }
  const geometry::StaggeredMap map =
      geometry::cut_staggered(all.grid.raster, "air", all.shapes, all.capsule,
                              geometry::Averaging::volume, contrast);
  const TezMedium medium = build_tez_medium(
      map, all.media,
      {absorbing, all.grid.time_step, request.band_from, request.band_to, {}});
  ASSERT_GT(medium.nodes.size(), 500U);  // tensors
  TezStepper<float> stepper(all.grid, medium, all.absorber, {});
  stepper.add_source(MagneticLine{cells / 2, cells / 2, wave().current});
  const Course course = million_steps(stepper);
  EXPECT_GT(course.peak, 0.0);
  EXPECT_LE(course.growth, 1.0 + rounding);
  EXPECT_LE(course.left, 1e-6 * course.peak);
}

}  // namespace
}  // namespace torsowave::solver
