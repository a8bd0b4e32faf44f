/// \file
/// \brief The main figures of a run, for people.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "app/text_table.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// What the gains of antenna_gain_table() are.
inline constexpr const char* antenna_gain_head =
    "Gain of the implant in three dimensions, body included: a short dipole in its "
    "capsule, over an isotropic radiator of the power that it delivers (surroundings: if "
    "but one tissue next to the capsule were around it); assumptions in summary.json, "
    "link budget by \"torsowave link\"";

/// Powers of a slice at every frequency, with their uncertainty.
[[nodiscard]] TextTable power_table(const postproc::Result& result);

/// Mode 1D: shares of the power, with their uncertainty.
[[nodiscard]] TextTable layer_table(const postproc::Result& result);

/// The direction of each frequency's largest gain, and what is there; empty without far
/// fields. \see far_field_head()
[[nodiscard]] std::optional<TextTable> far_field_table(const postproc::Result& result);
[[nodiscard]] std::string far_field_head(const postproc::Result& result);

/// The implant's gain in three dimensions where it is largest and smallest; empty without
/// one.
[[nodiscard]] std::optional<TextTable> antenna_gain_table(const postproc::Result& result);

/// What the uncertainties mean and what users have to know: a label and its text.
[[nodiscard]] std::vector<std::pair<std::string, std::string>> run_remarks(
    const postproc::Result& result);

/// Powers, the tissues that absorb most, how the run went, where the results are, and the
/// caution.
[[nodiscard]] std::string run_text(const postproc::Result& result,
                                   const std::string& folder, std::size_t most_columns);

}  // namespace torsowave::app
