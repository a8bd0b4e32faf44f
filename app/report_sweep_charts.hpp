/// \file
/// \brief Charts of a sweep: what the figures depend on, and how they are spread.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "postproc/table_file.hpp"

namespace torsowave::app {

/// The columns that the sweep varies.
[[nodiscard]] std::vector<const postproc::TableColumn*> varied_keys(
    const postproc::Table& table);

/// "loss_db [dB]"
[[nodiscard]] std::string column_title(const postproc::TableColumn& column);

/// How each of `columns` depends on each varied key: its mean at every value over all
/// other keys; where nearly every case has a value of its own, every case, and the rank
/// correlation. Keys that do not vary within a frequency are left out.
[[nodiscard]] nlohmann::ordered_json effect_charts(
    const postproc::Table& table, const std::vector<std::string>& columns);

/// A histogram of each column with its 5th, 50th and 95th percentile, at each frequency.
[[nodiscard]] nlohmann::ordered_json spread_charts(
    const postproc::Table& table, const std::vector<std::string>& columns);

}  // namespace torsowave::app
