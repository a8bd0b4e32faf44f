#include "bench/plans.hpp"

namespace torsowave::bench {

using scenarios::Mode;

std::vector<Plan> plans_for(const SuiteOptions& options)
{
  std::vector<GridSize> sizes{{512, 512}, {1024, 768}, {2048, 2048}, {4096, 4096}};
  GridSize main{2048, 2048};
  if (options.size > 0) {
    main = {options.size, options.size};
    sizes = {main};
  }
  if (options.quick) {
    return {{Mode::tmz, main, 3}};
  }
  std::vector<Plan> plans;
  for (const GridSize size : sizes) {
    for (const int poles : {0, 2, 3}) {
      plans.push_back({Mode::tmz, size, poles});
    }
  }
  plans.push_back({Mode::tez, main, 3});
  plans.push_back({Mode::one_d, {4096, 1}, 3});
  return plans;
}

std::vector<int> thread_counts(const SuiteOptions& options)
{
  return options.quick || options.threads == 1 ? std::vector{options.threads}
                                               : std::vector{1, options.threads};
}

double memory_of(const Plan& plan)
{
  const double cells = double{1} * plan.size.nx * plan.size.ny;
  const double textbook = 5.0 + 2.0 * plan.poles;
  const double script = textbook + 5.0;
  return cells * (20.0 * textbook + 16.0 * (3.0 + plan.poles) + 8.0 * script + 24.0);
}

}  // namespace torsowave::bench
