// The numerical phase velocity of the stepper against the dispersion relation of the 2-D
// Yee scheme,
//   [sin(w dt/2)/(c dt)]^2 = [sin(kx dx/2)/dx]^2 + [sin(ky dx/2)/dx]^2
// (A. Taflove, S. C. Hagness, *Computational Electrodynamics*, 3rd ed., ch. 4, from
// memory). The table's values were computed from the relation by a separate script; those
// for 10 and 20 cells and S = 0.5 match the textbook's printed 0.9873, 0.9969 and 0.9990
// (from memory).

#include <array>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>

#include "materials/constants.hpp"
#include "solver/tmz_stepper.hpp"
#include "solver/waveform.hpp"

namespace torsowave::solver {
namespace {

using Complex = std::complex<double>;
using materials::speed_of_light;
using std::numbers::pi;
using std::numbers::sqrt2;

constexpr double cell = 1e-3;

struct Row {
  double courant;  ///< S = c dt/dx
  double cells;    ///< N = c/(f dx)
  double on_axis;  ///< phase velocity over c
  double diagonal;
};
constexpr auto table = std::to_array<Row>({
    {0.5, 10.0, 0.98726370, 0.99581678},
    {0.5, 20.0, 0.99689169, 0.99896756},
    {0.5, 40.0, 0.99922745, 0.99974271},
    {1.0 / sqrt2, 10.0, 0.99148526, 1.0},
    {1.0 / sqrt2, 20.0, 0.99792631, 1.0},
    {1.0 / sqrt2, 40.0, 0.99948487, 1.0},
});
/// The table is rounded to 8 digits.
constexpr double table_rounding = 0.5e-8;

/// Phase velocity over c from the relation, in direction (cos, sin), by bisection.
double relation(double courant, double cells, double angle)
{
  const double left = std::pow(std::sin(pi * courant / cells) / courant, 2);
  const auto right = [&](double k) {
    return std::pow(std::sin(0.5 * k * std::cos(angle)), 2) +
           std::pow(std::sin(0.5 * k * std::sin(angle)), 2);
  };
  const double free = 2.0 * pi / cells;
  double low = 0.5 * free;
  double high = 2.0 * free;
  for (int n = 0; n < 100; ++n) {
    const double middle = 0.5 * (low + high);
    (right(middle) < left ? low : high) = middle;
  }
  return free / (0.5 * (low + high));
}

TEST(YeeDispersion, RelationGivesTheTable)
{
  for (const Row& row : table) {
    EXPECT_NEAR(relation(row.courant, row.cells, 0.0), row.on_axis,
                1.01 * table_rounding);
    EXPECT_NEAR(relation(row.courant, row.cells, 0.25 * pi), row.diagonal,
                1.01 * table_rounding);
  }
}

TmzStepper<double> box(int nx, int ny, double courant)
{
  const Grid grid{{nx, ny, cell, {}}, courant * cell / speed_of_light, 0};
  const Medium air{{}, {{}}, std::vector<std::uint16_t>(grid.raster.size(), 0)};
  AbsorberSpec none;
  none.cells = 0;
  return TmzStepper<double>(grid, air, none, {});
}

/// Spectra of the plane waves that a line source holds: added up over all cells of a
/// column, the difference along y drops out of the update, and what is left is a plane
/// wave along x, exactly; added up over a diagonal, one along the diagonal.
struct PlaneWaves {
  static constexpr int near = 20;  ///< columns or diagonals from the source
  static constexpr int apart = 30;
  std::array<Complex, 2> column{};
  std::array<Complex, 2> diagonal{};

  void add(const TmzStepper<double>& stepper, int middle, Complex phase)
  {
    const geometry::Raster& raster = stepper.grid().raster;
    for (int j = 0; j < raster.ny; ++j) {
      const auto row = stepper.centre_row(j);
      for (std::size_t at = 0; at < 2; ++at) {
        const int i_column = middle + near + static_cast<int>(at) * apart;
        column[at] += phase * row[static_cast<std::size_t>(i_column)];
        const int i = middle + i_column - j;
        if (i >= 0 && i < raster.nx) {
          diagonal[at] += phase * row[static_cast<std::size_t>(i)];
        }
      }
    }
  }

  /// Phase velocity over c of sums that lie `step` apart, at N cells per wavelength.
  static double velocity(const std::array<Complex, 2>& sums, double step, double cells)
  {
    const double free = 2.0 * pi / cells * apart * step;
    const double lag = -std::arg(sums[1] / sums[0]);
    const double turns = std::round((free - lag) / (2.0 * pi));
    return free / (lag + 2.0 * pi * turns);
  }
};

/// Phase velocities of the stepper for N = 10, 20, 40: on the axis and on the diagonal.
std::vector<PlaneWaves> measure(double courant)
{
  // Nothing reaches the walls, 300 cells away, before the waves have passed.
  constexpr int middle = 300;
  constexpr std::array<double, 3> cells{10.0, 20.0, 40.0};
  TmzStepper<double> stepper = box(2 * middle + 1, 2 * middle + 1, courant);
  const double f = speed_of_light / (16.0 * cell);
  stepper.add_source({middle, middle, pulse_waveform(f, 1.5 * f).current});
  std::vector<PlaneWaves> waves(3);
  for (int n = 1; n * courant < 270.0; ++n) {
    stepper.advance(1);
    for (std::size_t w = 0; w < 3; ++w) {
      const double turn = 2.0 * pi * courant / cells[w];
      waves[w].add(stepper, middle, std::polar(1.0, -turn * n));
    }
  }
  return waves;
}

TEST(YeeDispersion, PlaneWavesOfTheStepperRunAtTheTablesVelocity)
{
  for (std::size_t first : {0U, 3U}) {
    const std::vector<PlaneWaves> waves = measure(table[first].courant);
    for (std::size_t w = 0; w < 3; ++w) {
      const Row& row = table[first + w];
      EXPECT_NEAR(PlaneWaves::velocity(waves[w].column, 1.0, row.cells), row.on_axis,
                  2.0 * table_rounding)
          << row.courant << " " << row.cells;
      EXPECT_NEAR(PlaneWaves::velocity(waves[w].diagonal, 1.0 / sqrt2, row.cells),
                  row.diagonal, 2.0 * table_rounding)
          << row.courant << " " << row.cells;
    }
    // The error falls with the square of the cell size.
    const auto error = [&](std::size_t w) {
      return 1.0 - PlaneWaves::velocity(waves[w].column, 1.0, table[first + w].cells);
    };
    EXPECT_NEAR(std::log2(error(0) / error(1)), 2.0, 0.05);
    EXPECT_NEAR(std::log2(error(1) / error(2)), 2.0, 0.02);
  }
}

/// cos(w dt) of mode (p, q) of a closed box over time: with Ez = 0 beyond the rim the
/// sines are exact modes of the grid, and their amplitudes a obey
/// a(n+1) + a(n-1) = 2 cos(w dt) a(n).
class Mode {
public:
  Mode(int p, int q, int nx, int ny)
      : kx_(p * pi / (nx + 1)), ky_(q * pi / (ny + 1)), nx_(nx), ny_(ny)
  {
  }

  void sample(const TmzStepper<double>& stepper)
  {
    double sum = 0.0;
    for (int j = 0; j < ny_; ++j) {
      const auto row = stepper.centre_row(j);
      for (int i = 0; i < nx_; ++i) {
        sum += row[static_cast<std::size_t>(i)] * std::sin(kx_ * (i + 1)) *
               std::sin(ky_ * (j + 1));
      }
    }
    amplitudes_.push_back(sum);
  }

  /// Least squares over the whole record.
  [[nodiscard]] double measured_cosine() const
  {
    double above = 0.0;
    double below = 0.0;
    for (std::size_t n = 1; n + 1 < amplitudes_.size(); ++n) {
      above += amplitudes_[n] * (amplitudes_[n - 1] + amplitudes_[n + 1]);
      below += 2.0 * amplitudes_[n] * amplitudes_[n];
    }
    return above / below;
  }

  /// From the relation: cos(w dt) = 1 - 2 sin^2(w dt/2).
  [[nodiscard]] double exact_cosine(double courant) const
  {
    const double x = std::sin(0.5 * kx_);
    const double y = std::sin(0.5 * ky_);
    return 1.0 - 2.0 * courant * courant * (x * x + y * y);
  }

private:
  double kx_;
  double ky_;
  int nx_;
  int ny_;
  std::vector<double> amplitudes_;
};

TEST(YeeDispersion, ModesOfAClosedBoxRingAtTheRelationsFrequencies)
{
  const int nx = 47;
  const int ny = 38;
  for (const double courant : {0.5, 1.0 / sqrt2}) {
    TmzStepper<double> stepper = box(nx, ny, courant);
    // A kick that is over in a few steps drives modes of every length.
    const double dt = stepper.grid().time_step;
    stepper.add_source({16, 11, [=](double t) { return t < 3.0 * dt ? 1.0 : 0.0; }});
    stepper.advance(10);
    std::vector<Mode> modes;
    for (const int p : {1, 4, 10, 20, 47}) {
      for (const int q : {1, 5, 15, 38}) {
        modes.emplace_back(p, q, nx, ny);
      }
    }
    for (int n = 0; n < 400; ++n) {
      stepper.advance(1);
      for (Mode& mode : modes) {
        mode.sample(stepper);
      }
    }
    for (const Mode& mode : modes) {
      EXPECT_NEAR(mode.measured_cosine(), mode.exact_cosine(courant), 1e-12);
    }
  }
}

}  // namespace
}  // namespace torsowave::solver
