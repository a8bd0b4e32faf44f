/// \file
/// \brief The pictures that a scenario asks for.

#pragma once

#include <functional>
#include <string>

#include "app/observers.hpp"
#include "app/run_plan.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Draws what `outputs.images` lists; `place` gives the path for a file name.
/// \param moments  for the quantities `snapshot` and `spacetime`
/// \throws postproc::WriteError, postproc::FontError
void draw_pictures(const RunPlan& plan, const postproc::Result& result,
                   const Moments& moments,
                   const std::function<std::filesystem::path(const std::string&)>& place);

/// Whether draw_pictures() may have given a file this name.
[[nodiscard]] bool is_picture_name(const std::string& name);

}  // namespace torsowave::app
