#include "bench/agreement.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>

#include <omp.h>

#include "bench/contenders.hpp"
#include "bench/numpy_textbook.hpp"
#include "bench/textbook_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::bench {
namespace {

/// Ez (ny, nx) from a function of the cell.
[[nodiscard]] std::vector<double> field(const solver::Grid& grid,
                                        const std::function<double(int, int)>& ez)
{
  std::vector<double> values;
  for (int j = 0; j < grid.raster.ny; ++j) {
    for (int i = 0; i < grid.raster.nx; ++i) {
      values.push_back(ez(i, j));
    }
  }
  return values;
}

template <class Real, Loops loops = Loops::plain>
[[nodiscard]] std::vector<double> textbook_field(const Scene& scene, int steps)
{
  omp_set_num_threads(1);  // many barriers in small steps would take long
  const solver::Grid& grid = scene.grid;
  TextbookStepper<Real, loops> stepper(
      grid, scene.medium, absorber_along_x(scene.absorber, grid, scene.medium),
      absorber_along_y(scene.absorber, grid, scene.medium));
  for (int n = 0; n < steps; ++n) {
    stepper.step(scene.source_i, scene.source_j,
                 scene.current(grid.time(n) + 0.5 * grid.time_step));
  }
  return field(grid, [&](int i, int j) { return double{stepper.ez(i, j)}; });
}

[[nodiscard]] std::vector<double> product_field(const Scene& scene, int steps,
                                                int threads, int steps_per_pass)
{
  solver::StepperOptions how;
  how.threads = threads;
  how.steps_per_pass = steps_per_pass;
  solver::TmzStepper<float> stepper(scene.grid, scene.medium, scene.absorber, how);
  stepper.add_source({scene.source_i, scene.source_j, scene.current});
  stepper.advance(steps);
  return field(scene.grid, [&](int i, int j) {
    return double{stepper.centre_row(j)[static_cast<std::size_t>(i)]};
  });
}

[[nodiscard]] double difference(const std::vector<double>& field,
                                const std::vector<double>& reference)
{
  double worst = 0.0;
  double largest = 0.0;
  for (std::size_t p = 0; p < reference.size(); ++p) {
    worst = std::max(worst, std::abs(field.at(p) - reference[p]));
    largest = std::max(largest, std::abs(reference[p]));
  }
  return worst / largest;
}

}  // namespace

std::vector<Agreement> agreement(const Scene& scene, int steps, int threads,
                                 bool with_numpy)
{
  const std::vector<double> reference = textbook_field<double>(scene, steps);
  std::vector<Agreement> all;
  const auto compare = [&](const char* name, const std::vector<double>& with) {
    all.push_back({name, difference(with, reference)});
  };
  compare(textbook_simd, textbook_field<double, Loops::simd>(scene, steps));
  compare(textbook_float, textbook_field<float>(scene, steps));
  compare(plain_sweep, product_field(scene, steps, threads, 1));
  compare(tiled, product_field(scene, steps, threads, 0));
  if (with_numpy) {
    compare(numpy, NumpyTextbook(scene).field_after(steps));
  }
  return all;
}

}  // namespace torsowave::bench
