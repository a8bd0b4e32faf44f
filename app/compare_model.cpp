#include "app/compare_model.hpp"

#include <algorithm>
#include <cmath>

namespace torsowave::app {

scenarios::Scenario scenario_to_compare(scenarios::Scenario scenario)
{
  scenario.outputs.snapshots.reset();
  scenario.outputs.images.reset();
  scenario.outputs.probes.clear();
  scenario.outputs.phasors.clear();
  if (scenario.mode != scenarios::Mode::one_d) {
    scenario.outputs.phasors = {scenario.mode == scenarios::Mode::tez ? "Hz" : "Ez"};
  }
  return scenario;
}

postproc::CompareResult describe_comparison(const RunPlan& plan,
                                            const postproc::Result& run)
{
  postproc::CompareResult result;
  result.title = run.title;
  result.mode = run.mode;
  result.scenario_yaml = run.scenario_yaml;
  result.scenario_sha256 = run.scenario_sha256;
  result.created = run.created;
  result.source = run.source;
  result.frequencies = plan.scenario.frequencies;
  result.grid = run.grid;
  result.grid.x.clear();
  result.grid.y.clear();
  result.run = run.run;
  for (const materials::FittedMedium& medium : plan.fitted.media) {
    result.fit_max_relative_error =
        std::max(result.fit_max_relative_error, medium.max_relative_error);
  }
  for (const postproc::FrequencyResult& at : run.frequencies) {
    for (const char* cause : {"left_in_grid", "not_steady"}) {
      const auto error = at.uncertainty_db.find(cause);
      if (error != at.uncertainty_db.end()) {
        result.end_error_db = std::max(result.end_error_db, error->second);
      }
    }
  }
  return result;
}

}  // namespace torsowave::app
