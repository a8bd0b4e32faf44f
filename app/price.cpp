#include "app/price.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::app {
namespace {

/// Cell updates a second of a stepper.
template <class Real>
[[nodiscard]] double rate_of(solver::YeeStepper<Real>& stepper)
{
  constexpr double long_enough = 0.1;  // [s]
  stepper.advance(2);
  const auto begin = std::chrono::steady_clock::now();
  double spent = 0.0;
  long steps = 0;
  while (spent < long_enough) {
    stepper.advance(8);
    steps += 8;
    spent =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  }
  return static_cast<double>(steps) * static_cast<double>(stepper.grid().raster.size()) /
         spent;
}

template <class Real>
[[nodiscard]] double rate(const RunPlan& plan, int threads)
{
  const solver::StepperOptions options{threads, solver::best_instruction_set()};
  if (plan.tez) {
    solver::TezStepper<Real> stepper(plan.grid, *plan.tez, plan.absorber, options);
    return rate_of(stepper);
  }
  // The middle of the slice, as large as the memory of a core's caches allows to be
  // exceeded.
  constexpr int largest = 512;
  const geometry::Raster& whole = plan.grid.raster;
  solver::Grid grid = plan.grid;
  grid.raster.nx = std::min(whole.nx, largest);
  grid.raster.ny = std::min(whole.ny, largest);
  const int left = (whole.nx - grid.raster.nx) / 2;
  const int low = (whole.ny - grid.raster.ny) / 2;
  const solver::Medium full = solver::build_medium(plan.map, plan.stepped, 0);
  solver::Medium medium{full.relaxation_times, full.palette, {}};
  for (int j = 0; j < grid.raster.ny; ++j) {
    for (int i = 0; i < grid.raster.nx; ++i) {
      medium.cells.push_back(full.cells[whole.at(left + i, low + j)]);
    }
  }
  solver::TmzStepper<Real> stepper(grid, medium, plan.absorber, options);
  return rate_of(stepper);
}

}  // namespace

double measured_rate(const RunPlan& plan, int threads)
{
  return plan.scenario.grid.precision == scenarios::Precision::single_precision
             ? rate<float>(plan, threads)
             : rate<double>(plan, threads);
}

Price price_of(const RunPlan& plan, int threads)
{
  Price price;
  price.threads = threads;
  price.rate = measured_rate(plan, threads);
  price.steps = std::lround(std::ceil(plan.expected_time / plan.grid.time_step));
  price.seconds = static_cast<double>(price.steps) *
                  static_cast<double>(plan.grid.raster.size()) / price.rate;
  return price;
}

}  // namespace torsowave::app
