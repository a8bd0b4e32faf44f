/// \file
/// \brief Charts of one result, as parts of a report page.
///
/// A chart is {type, name, alt, ...}; what the types have besides is told where they are
/// made. All of them have `series`: [{name, color: [light, dark], ...}]. A value that is
/// no number is null: a gap.

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "app/link_report.hpp"
#include "postproc/result.hpp"

namespace torsowave::app {

/// Where the power goes, in percent of what the source delivers: a bar for each
/// frequency, a part for each tissue that takes a visible share, one for all the others,
/// one for what leaves.
[[nodiscard]] nlohmann::ordered_json power_chart(const postproc::Result& result);

/// Power out of the body by direction; empty without sectors.
[[nodiscard]] std::optional<nlohmann::ordered_json> surface_chart(
    const postproc::Result& result);

/// Gain, for a plane wave scattering width, by direction; empty without far fields.
[[nodiscard]] std::optional<nlohmann::ordered_json> far_field_chart(
    const postproc::Result& result);

/// Margins by direction of the reader.
[[nodiscard]] nlohmann::ordered_json margin_chart(const LinkStudy& study);

/// The parts of the uncertainty in dB, by cause, at each frequency.
[[nodiscard]] nlohmann::ordered_json uncertainty_chart(const postproc::Result& result);

}  // namespace torsowave::app
