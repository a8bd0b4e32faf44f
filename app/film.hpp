/// \file
/// \brief Animations of a stored result: which moments they show, and drawing them.

#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "postproc/look.hpp"
#include "postproc/result.hpp"
#include "postproc/row_of_slice.hpp"
#include "postproc/stored_result.hpp"

namespace torsowave::app {

/// A stretch of time that passes more slowly, e.g. while the source is on.
struct SlowMotion {
  double from = 0.0;  ///< [s]
  double to = 0.0;
  double factor = 4.0;  ///< > 0: how many times as long it takes
};

struct FilmOrder {
  /// "snapshot": the stored moments; a field ("Ez"): its phasor as a steady oscillation,
  /// which begins anew without a jump. Empty: snapshots if there are any.
  std::string quantity;
  double frequency = 0.0;  ///< of the phasor, as the result has it [Hz]
  int cycles = 1;          ///< of the oscillation
  double frames_per_second = 25.0;
  std::optional<double> length;  ///< of the film [s]; empty: a frame for each moment, 2 s
                                 ///< a cycle
  std::optional<double> from;    ///< of the run [s]; empty: all of it
  std::optional<double> to;      ///< empty: as long as there is something to see
  std::optional<SlowMotion> slow;
  bool decibel = true;          ///< colours by level, 60 dB; else linear
  std::optional<double> range;  ///< the largest value of the scale, in the field's unit
  std::optional<postproc::SliceAxis> along;  ///< of a slice: a curve along a line
  std::optional<double> at;                  ///< \see postproc::line_through()
  postproc::Look look;  ///< of all sides together; without a width 900 px for each
};

/// A stored result as a film sees it; both outlive the film.
struct FilmSide {
  const postproc::Result& result;
  const postproc::StoredSnapshots& snapshots;
};

struct FilmFacts {
  std::size_t frames = 0;
  double seconds = 0.0;  ///< that it lasts
  int width = 0;         ///< [px]
  int height = 0;
  double range = 1.0;  ///< the largest value of the scale
  std::string units;
};

/// "300 frames of 900 x 660 pixels, 12.0 s"
[[nodiscard]] std::string film_text(const FilmFacts& film);

/// Called after each few frames with those done and all.
using FilmProgress = std::function<void(std::size_t, std::size_t)>;

/// Makes the film. Two results stand side by side at the same moments, with one scale.
/// A StopSignal of the caller's stops it.
/// \param sides     one or two
/// \param progress  may be empty
/// \throws scenarios::InputError  A result lacks what is ordered, or two do not match.
/// \throws MachineError, Interrupted, postproc::WriteError, postproc::ReadError
FilmFacts make_film(const FilmOrder& order, const std::vector<FilmSide>& sides,
                    const std::filesystem::path& path, const FilmProgress& progress);

/// The moments of the run that the frames show [s]: evenly, and more of them in slow
/// motion. \param times  that are stored, ascending, at least one
[[nodiscard]] std::vector<double> film_moments(const FilmOrder& order,
                                               const std::vector<double>& times);

}  // namespace torsowave::app
