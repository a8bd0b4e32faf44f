#include "bench/contenders.hpp"

#include <memory>
#include <utility>

#include <omp.h>

#include "bench/textbook_stepper.hpp"
#include "solver/tez_stepper.hpp"
#include "solver/tmz_stepper.hpp"

namespace torsowave::bench {
namespace {

template <class Real, Loops loops>
void add_textbook(const Scene& scene, const char* name, const std::vector<int>& threads,
                  std::vector<Contender>& to)
{
  auto stepper = std::make_shared<TextbookStepper<Real, loops>>(
      scene.grid, scene.medium,
      solver::absorber_along_x(scene.absorber, scene.grid, scene.medium),
      solver::absorber_along_y(scene.absorber, scene.grid, scene.medium));
  for (const int team : threads) {
    const auto once = [stepper, i = scene.source_i, j = scene.source_j,
                       current = scene.current, grid = scene.grid, team,
                       step = 0L]() mutable {
      omp_set_num_threads(team);
      stepper->step(i, j, current(grid.time(step) + 0.5 * grid.time_step));
      ++step;
    };
    to.push_back({name, team, scene.cells(), timed(once)});
  }
}

template <class Stepper>
void add_product(const Scene& scene, std::shared_ptr<Stepper> stepper, const char* name,
                 int threads, std::vector<Contender>& to)
{
  stepper->add_source({scene.source_i, scene.source_j, scene.current});
  to.push_back({name, threads, scene.cells() * scene.interval,
                timed([stepper = std::move(stepper), interval = scene.interval] {
                  stepper->advance(interval);
                })});
}

}  // namespace

std::vector<Contender> textbook_contenders(const Scene& scene,
                                           const std::vector<int>& threads)
{
  std::vector<Contender> contenders;
  add_textbook<double, Loops::plain>(scene, textbook_double, threads, contenders);
  if (scene.medium.relaxation_times.size() > 1) {
    add_textbook<double, Loops::simd>(scene, textbook_simd, threads, contenders);
  }
  add_textbook<float, Loops::plain>(scene, textbook_float, threads, contenders);
  return contenders;
}

std::vector<Contender> product_contenders(const Scene& scene,
                                          const std::vector<int>& threads)
{
  std::vector<Contender> contenders;
  for (const auto& [name, steps_per_pass] :
       {std::pair{plain_sweep, 1}, std::pair{tiled, 0}}) {
    for (const int team : threads) {
      solver::StepperOptions how;
      how.threads = team;
      how.steps_per_pass = steps_per_pass;
      if (scene.tez) {
        add_product(scene,
                    std::make_shared<solver::TezStepper<float>>(scene.grid, *scene.tez,
                                                                scene.absorber, how),
                    name, team, contenders);
      } else {
        add_product(scene,
                    std::make_shared<solver::TmzStepper<float>>(scene.grid, scene.medium,
                                                                scene.absorber, how),
                    name, team, contenders);
      }
    }
  }
  return contenders;
}

}  // namespace torsowave::bench
