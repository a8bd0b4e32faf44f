/// \file
/// \brief Pictures of a result, as PNG files about 1400 pixels wide.
///
/// Slices are drawn with +x (the patient's left) to the right and +y (the front) up; axes
/// are in millimetres. A figure that shows power or SAR carries the caution as its
/// footer. Widths and heights are even, so that snapshots can be frames of a film.
///
/// Every draw_ function writes beside the final name and renames. All of them throw
/// WriteError (the file cannot be written), FontError (no font for the text) and
/// std::invalid_argument (the result lacks what is asked for, or its sizes disagree; the
/// message names it).

#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <span>
#include <string_view>

#include "postproc/canvas.hpp"
#include "postproc/result.hpp"
#include "postproc/result_file.hpp"

namespace torsowave::postproc {

enum class Scale { decibel, linear };

/// Tissues in colours, the implant, and a legend with each tissue's area.
void draw_tissue_map(const Result& result, const std::filesystem::path& path);

/// |field| at one frequency, with the tissues' outlines.
///
/// In decibels the reference is 1 unit of the field; the top of the colour bar is
/// the 99.9th percentile of the slice rounded up to 5 dB, its bottom 80 dB lower. On a
/// linear scale the bar runs from 0 to that percentile, rounded up. \param field name of
/// the phasor field, e.g. "Ez" \param frequency  index into result.frequencies
void draw_phasor(const Result& result, std::string_view field, std::size_t frequency,
                 Scale scale, const std::filesystem::path& path);

/// One moment of a field, with its sign and time stamp.
///
/// \param plan   which field, in which units, and the stride that `snapshot` was taken
/// with \param range  the bar runs from -range to +range; empty:
/// symmetric_range(snapshot.values)
void draw_snapshot(const Result& result, const Snapshot& snapshot,
                   const SnapshotPlan& plan, const std::filesystem::path& path,
                   std::optional<double> range = std::nullopt);

/// As draw_snapshot(), as a picture in memory: one frame of an animation. Frames of one
/// result have the same size.
[[nodiscard]] Canvas render_snapshot(const Result& result, const Snapshot& snapshot,
                                     const SnapshotPlan& plan,
                                     std::optional<double> range = std::nullopt);

/// A colour range for signed values: the 99.5th percentile of |value| over the values
/// that are finite and not zero, rounded up to a round number; 1 if there are none.
[[nodiscard]] double symmetric_range(std::span<const float> values);

/// Power out of the body's surface by angle, one curve per frequency, in dB re 1 W/m.
/// Sectors into which power flows, on balance, are gaps; a note says how many.
void draw_surface_power(const Result& result, const std::filesystem::path& path);

/// SAR in dB re 1 W/kg per W/m of source power, ranged as draw_phasor() does.
/// \param frequency  index into result.frequencies
void draw_sar(const Result& result, std::size_t frequency,
              const std::filesystem::path& path);

}  // namespace torsowave::postproc
