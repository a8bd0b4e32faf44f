/// \file
/// \brief Pictures of a result, as PNG files about 1400 pixels wide unless a Look says
/// otherwise.
///
/// Slices are drawn with +x (the patient's left) to the right and +y (the front) up; axes
/// are in millimetres. A figure that shows power or SAR carries the caution as its
/// footer. Moments of a field: \see moment_picture.hpp
///
/// Every draw_ function writes beside the final name and renames. All of them throw
/// WriteError (the file cannot be written), FontError (no font for the text) and
/// std::invalid_argument (the result lacks what is asked for, or its sizes disagree; the
/// message names it).

#pragma once

#include <cstddef>
#include <filesystem>
#include <string_view>

#include "postproc/look.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

enum class Scale { decibel, linear, phase };

/// Tissues in colours, the implant, and a legend with each tissue's area.
void draw_tissue_map(const Result& result, const std::filesystem::path& path,
                     const Look& look = {});

/// |field| at one frequency, or its phase, with the tissues' outlines.
///
/// In decibels the reference is 1 unit of the field; the top of the colour bar is
/// the 99.9th percentile of the slice rounded up to 5 dB, its bottom 80 dB lower. On a
/// linear scale the bar runs from 0 to that percentile, rounded up. \param field name of
/// the phasor field, e.g. "Ez" \param frequency  index into result.frequencies
void draw_phasor(const Result& result, std::string_view field, std::size_t frequency,
                 Scale scale, const std::filesystem::path& path, const Look& look = {});

/// SAR in dB re 1 W/kg per W/m of source power, ranged as draw_phasor() does.
/// \param frequency  index into result.frequencies
void draw_sar(const Result& result, std::size_t frequency,
              const std::filesystem::path& path, const Look& look = {});

/// Time-averaged power flow at one frequency: its size in dB, and arrows along it that
/// are longer where more flows. Needs the phasors of all three fields. \param frequency
/// index into result.frequencies
void draw_power_flow(const Result& result, std::size_t frequency,
                     const std::filesystem::path& path, const Look& look = {});

/// Power out of the body's surface by angle, one curve per frequency, in dB re 1 W/m.
/// Sectors into which power flows, on balance, are gaps; a note says how many.
void draw_surface_power(const Result& result, const std::filesystem::path& path,
                        const Look& look = {});

/// The same at one frequency as a ring of sectors around the body.
/// \param frequency  index into result.frequencies
void draw_surface_ring(const Result& result, std::size_t frequency,
                       const std::filesystem::path& path, const Look& look = {});

/// Gain (plane wave: scattering width) over the direction, a polar curve per frequency.
void draw_far_field(const Result& result, const std::filesystem::path& path,
                    const Look& look = {});

}  // namespace torsowave::postproc
