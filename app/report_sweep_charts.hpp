/// \file
/// \brief Charts of a sweep: what the figures depend on, and how they are spread.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "postproc/table_file.hpp"

namespace torsowave::app {

/// The keys that take more than one value in the sweep.
[[nodiscard]] std::vector<const postproc::TableColumn*> varied_keys(
    const postproc::Table& table);

/// What a figure of the table is called among people: "loss" of loss_db; others by their
/// name there.
[[nodiscard]] std::string figure_name(const std::string& column);

/// "loss [dB]"
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
