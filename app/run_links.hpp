/// \file
/// \brief The links that a run's summary tells, so that a sweep has their margins.

#pragma once

#include "app/run_plan.hpp"
#include "postproc/link_around.hpp"

namespace torsowave::app {

/// What a scenario's link section asks for.
[[nodiscard]] postproc::LinkRequest link_request(const scenarios::Link& link);

/// Adds the links of a scenario with a link section, if there is a gain. What makes them
/// impossible becomes a note.
/// \param result  with the antenna gains
void add_links(const RunPlan& plan, postproc::Result& result);

}  // namespace torsowave::app
