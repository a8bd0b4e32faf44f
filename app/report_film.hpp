/// \file
/// \brief The animation of a report page: the field while it lives, as values.

#pragma once

#include <cstddef>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

#include "app/film.hpp"

namespace torsowave::app {

/// The moments worth showing: those stored while the energy in the grid is within 40 dB
/// of its peak, evenly thinned out to at most `most`; all of them where the energy is not
/// known.
/// \param times  of the snapshots [s], ascending, not empty
/// \return  numbers of snapshots, at least one
[[nodiscard]] std::vector<std::size_t> living_moments(const postproc::EnergyTrace& energy,
                                                      const std::vector<double>& times,
                                                      std::size_t most);

/// Snapshots, or else a field as a steady oscillation; empty where the result has
/// neither.
///
/// Of a slice {kind: "map", nx, ny, frames: base64 of zlib, one byte a value: 128 is
/// nothing, 1 and 255 the top of the scale with either sign, linear in dB down to -`span`
/// dB; extent, labels, tissues, implant}; of mode 1D {kind: "row", x, frames: [[value]],
/// layers}. Both have times [ns] or phases [deg], field, units, top, note.
/// \throws postproc::ReadError
[[nodiscard]] std::optional<nlohmann::ordered_json> film_part(const FilmSide& side);

}  // namespace torsowave::app
