/// \file
/// \brief Which pictures a result gives, and drawing them: for `run` and for `render`.

#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "postproc/figure.hpp"
#include "postproc/result.hpp"
#include "postproc/result_file.hpp"
#include "postproc/row_of_slice.hpp"

namespace torsowave::app {

/// Moments of a field that pictures are made of.
struct Moments {
  std::optional<postproc::SnapshotPlan> plan;  ///< empty: the run took no snapshots
  std::vector<postproc::Snapshot> shown;       ///< each worth a picture
  std::vector<postproc::Snapshot>
      history;  ///< evenly spaced, for a space-time diagram: rows, in a slice of the line
};

/// Of moments stored one after the other every how many belong to the history: so many
/// that fewer than `most_history` of `count` do. A power of two.
[[nodiscard]] std::size_t history_stride(std::size_t count) noexcept;
inline constexpr std::size_t most_history = 4096;

/// The number of a frequency in a result, close enough at its printed digits [Hz].
[[nodiscard]] std::optional<std::size_t> frequency_number(const postproc::Result& result,
                                                          double frequency);

/// Where `render` puts pictures if nobody says, in the folder of the result.
inline constexpr const char* rendered_folder = "pictures";

/// What to draw, and how.
struct PictureOrder {
  std::vector<std::string> quantities;
  postproc::Scale scale = postproc::Scale::decibel;
  std::vector<std::size_t> frequencies;     ///< numbers; in mode 1D all share a picture
  std::optional<postproc::SliceLine> line;  ///< of a slice: curves along it
  postproc::Look look;
  std::string curves_as = "png";  ///< or "svg", "pdf": figures of lines alone
};

/// All quantities that a result's mode knows, or a line through a slice, in the order in
/// which they are drawn; of the fields those that are stored.
[[nodiscard]] std::vector<std::string> quantities_of(const postproc::Result& result,
                                                     bool along_line);

/// Why a quantity cannot be drawn from a result, with a remedy; empty if it can.
/// \param line  \see PictureOrder
[[nodiscard]] std::string obstacle(const postproc::Result& result, const Moments& moments,
                                   const std::string& quantity,
                                   const std::optional<postproc::SliceLine>& line);

/// Draws what is ordered and can be drawn; `place` gives the path for a file name.
/// \return The names of the files, in the order of the quantities.
/// \throws postproc::WriteError, postproc::FontError
std::vector<std::string> draw_pictures(
    const PictureOrder& order, const postproc::Result& result, const Moments& moments,
    const std::function<std::filesystem::path(const std::string&)>& place);

/// The names alone, of what draw_pictures() would draw.
[[nodiscard]] std::vector<std::string> picture_names(const PictureOrder& order,
                                                     const postproc::Result& result,
                                                     const Moments& moments);

/// "915MHz", as file names have it.
[[nodiscard]] std::string in_megahertz(double frequency);

/// Whether draw_pictures() or an animation of `run` may have given a file this name.
[[nodiscard]] bool is_picture_name(const std::string& name);

}  // namespace torsowave::app
