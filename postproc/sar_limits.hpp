/// \file
/// \brief Published exposure figures to set an estimated SAR beside, and on which side of
/// one it is. Never more: whether a device keeps a limit is decided by measurement and by
/// local codes and licensed practice; these are planning and teaching estimates.

#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "postproc/sar_result.hpp"

namespace torsowave::postproc {

/// One local figure for head and trunk.
struct SarLimit {
  std::string_view name;    ///< in tables
  std::string_view source;  ///< with "from memory" where the text was not seen
  double mass = 0.0;        ///< averaging mass [kg]
  double limit = 0.0;       ///< [W/kg]
  double from = 0.0;        ///< frequency [Hz]
  double to = 0.0;
};

/// All that are known here, public ones first.
[[nodiscard]] std::span<const SarLimit> sar_limits();

/// What goes with every comparison, in one sentence each.
[[nodiscard]] std::span<const std::string_view> sar_limit_notes();

/// The largest average over the mass of a figure that was found: of a plane wave [W/kg
/// per W/m^2], of an implant in three dimensions, beside the capsule or away from it
/// [W/kg per W]; none of an implant without these. \param frequency  [Hz]; none where the
/// figure is not for it
[[nodiscard]] std::optional<double> largest_average(const SarResult& sar,
                                                    const SarLimit& limit,
                                                    double frequency, bool plane_wave);

}  // namespace torsowave::postproc
