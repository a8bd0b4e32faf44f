#include "app/run_links.hpp"

#include <fmt/format.h>

#include <numbers>

namespace torsowave::app {
namespace {

[[nodiscard]] postproc::LinkFigures figures_of(const postproc::LinkAround& link)
{
  return {link.direction_deg,        link.out.eirp_dbm,
          link.out.faded.power_dbm,  link.out.faded.margin_db,
          link.back.faded.margin_db, link.uncertainty.db + link.uncertainty.tissue_data,
          link.out.largest_distance, link.closes_deg};
}

}  // namespace

postproc::LinkRequest link_request(const scenarios::Link& link)
{
  postproc::LinkRequest request{link.input, std::nullopt, link.implant_gain_dbi,
                                link.rules};
  if (link.direction) {
    request.direction_deg = *link.direction * 180.0 / std::numbers::pi;
  }
  return request;
}

void add_links(const RunPlan& plan, postproc::Result& result)
{
  if (!plan.scenario.locations.contains("link")) {
    return;
  }
  const postproc::LinkRequest request = link_request(plan.scenario.link);
  for (std::size_t f = 0; f < result.frequencies.size(); ++f) {
    postproc::FrequencyResult& at = result.frequencies[f];
    if (!at.antenna_gain) {
      continue;
    }
    const std::vector<postproc::LinkProblem> problems =
        postproc::link_problems(result, f, request);
    if (problems.empty()) {
      at.link = figures_of(postproc::link_around(result, f, request));
    } else {
      result.notes.push_back(fmt::format("no link at {:.6g} MHz: {}: {}",
                                         at.frequency * 1e-6, problems.front().quantity,
                                         problems.front().reason));
    }
  }
}

}  // namespace torsowave::app
