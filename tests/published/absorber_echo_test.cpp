// What 12 cells of absorber send back, against an endless grid. The bound of -80 dB is
// the project's own; J. A. Roden, S. D. Gedney, Microw. Opt. Technol. Lett. 27 (2000)
// 334-339 introduced the layer, and -80 to -100 dB are common for it (from memory).

#include "published/absorber_echo.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include <gtest/gtest.h>

#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::reference {
namespace {

TEST(AbsorberEcho, IsBelowMinus80DecibelsInAir)
{
  const Echo echo = measure_echo("air", 1.4e9, 2.4e9, 1e-3);
  EXPECT_LT(echo.at_ring, -80.0);
  EXPECT_LT(echo.in_interior, -80.0);
}

TEST(AbsorberEcho, IsBelowMinus80DecibelsInMuscle)
{
  const Echo echo = measure_echo("muscle", 1.4e9, 2.4e9, 1e-3);
  EXPECT_LT(echo.at_ring, -80.0);
  EXPECT_LT(echo.in_interior, -80.0);
}

/// Ez after every second step in 21 x 41 cells about a source, air above muscle.
std::vector<double> half_space(int margin, int source_row, const EchoCase& muscle,
                               const solver::AbsorberSpec& absorber)
{
  const int nx = 21 + 2 * margin;
  const int ny = 41 + 2 * margin;
  const solver::Grid grid{{nx, ny, muscle.cell, {}},
                          solver::stable_time_step(muscle.cell, 0.99),
                          absorber.cells};
  solver::MediumEntry air;
  air.strengths.assign(muscle.relaxation_times.size(), 0.0);
  solver::Medium medium{muscle.relaxation_times,
                        {air, muscle.medium},
                        std::vector<std::uint16_t>(grid.raster.size(), 0)};
  std::fill_n(medium.cells.begin(), grid.raster.at(0, margin + 20), std::uint16_t{1});
  solver::TmzStepper<double> stepper(grid, medium, absorber, {});
  stepper.add_source({margin + 10, margin + source_row, muscle.current});
  std::vector<double> ez;
  for (int n = 0; n < 2500; n += 2) {
    stepper.advance(2);
    for (int j = 0; j < 41; ++j) {
      const auto row =
          stepper.centre_row(margin + j).subspan(static_cast<std::size_t>(margin));
      ez.insert(ez.end(), row.begin(), row.begin() + 21);
    }
  }
  return ez;
}

/// In all cells but the source's own [dB].
double half_space_echo(int source_row)
{
  const EchoCase muscle = echo_case("muscle", 1.4e9, 2.4e9, 1e-3);
  solver::AbsorberSpec thick;
  thick.cells = 40;
  const std::vector<double> wide = half_space(140, source_row, muscle, thick);
  const solver::AbsorberSpec absorber;
  const std::vector<double> narrow =
      half_space(absorber.cells, source_row, muscle, absorber);
  double echo = 0.0;
  double incident = 0.0;
  const int source = 21 * source_row + 10;
  for (std::size_t p = 0; p < wide.size(); ++p) {
    if (static_cast<int>(p % 861) != source) {  // 861 = 21 x 41
      echo += std::pow(narrow[p] - wide[p], 2);
      incident += std::pow(wide[p], 2);
    }
  }
  return 10.0 * std::log10(echo / incident);
}

TEST(AbsorberEcho, IsBelowMinus80DecibelsWhereASurfaceOfMuscleRunsIntoTheLayer)
{
  // Measured against a domain of 100 cells more on each side and 40 cells of absorber.
  EXPECT_LT(half_space_echo(24), -80.0);  // in air
  EXPECT_LT(half_space_echo(14), -80.0);  // in muscle
}

}  // namespace
}  // namespace torsowave::reference
