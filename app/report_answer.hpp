/// \file
/// \brief What a report page says first: the question of a run, and its answer in words.

#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/link_report.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// {question, answer: [text], cards: [{title, best, figures: [{label, value, note}]}]}
/// \param study  the link; null where there is none
[[nodiscard]] nlohmann::ordered_json answer_part(const postproc::Result& result,
                                                 const LinkStudy* study);

}  // namespace torsowave::app
