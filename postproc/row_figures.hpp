/// \file
/// \brief Pictures of mode 1D, or of a line through a slice (\see row_of_slice.hpp):
/// curves over x, layers, and the space-time diagram.
///
/// x in millimetres runs to the right; the layers are tinted bands behind the curves,
/// which leave out the absorbing layers at both ends. All throw what the functions of
/// figure.hpp throw.

#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "postproc/figure.hpp"
#include "postproc/moment_picture.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

/// "Left of -26 mm the field is the scattered one alone ...": under a plane wave.
[[nodiscard]] std::string scattered_note(const Result& result);

/// What stands at the implant's place: a sheet in mode 1D.
[[nodiscard]] std::string source_name(const Result& result);

/// At most so many frequencies share a figure; beyond that they are chosen evenly, and a
/// note says so.
inline constexpr std::size_t most_row_curves = 7;

/// What a row of cells is called: mode 1D as it stands, or a line through a slice.
struct RowLine {
  std::string axis = "x";
  std::string place = "across the layers";
};

/// |field| over x, a curve for each frequency. In decibels no more than 120 dB are shown.
void draw_row_phasors(const Result& result, std::string_view field, Scale scale,
                      const std::filesystem::path& path, const RowLine& line = {},
                      const Look& look = {});

/// SAR over x in dB re 1 W/kg per W/m^2 (slice: W/m) of source power, a curve for each
/// frequency.
void draw_row_sar(const Result& result, const std::filesystem::path& path,
                  const RowLine& line = {}, const Look& look = {});

/// A field over x, a curve for each moment. \param plan  \see draw_snapshot()
void draw_row_snapshots(const Result& result, const std::vector<Snapshot>& moments,
                        const SnapshotPlan& plan, const std::filesystem::path& path,
                        const RowLine& line = {}, const Look& look = {});

/// One moment of a field over x within -range ... range: a frame of an animation.
/// \param title  with the time stamp
[[nodiscard]] Canvas draw_row_moment(const Result& result, const Snapshot& moment,
                                     const SnapshotPlan& plan, double range,
                                     const std::string& title, const RowLine& line,
                                     const Look& look);

/// A field over x and time, with its sign: time runs upwards, until the field is below 1
/// % of its largest for good. The absorbing layers are shown, and said to be. \param
/// moments  at least two, evenly spaced
void draw_spacetime(const Result& result, const std::vector<Snapshot>& moments,
                    const SnapshotPlan& plan, const std::filesystem::path& path,
                    const RowLine& line = {}, const Look& look = {});

/// The layers side by side in their tissues' colours.
void draw_row_tissues(const Result& result, const std::filesystem::path& path,
                      const RowLine& line = {}, const Look& look = {});

}  // namespace torsowave::postproc
