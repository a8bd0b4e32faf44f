/// \file
/// \brief Moments of a signed field over a slice, alone or as the frames of an animation.

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "postproc/canvas.hpp"
#include "postproc/result.hpp"
#include "postproc/result_file.hpp"

namespace torsowave::postproc {

/// How signed values become colours: the same for all frames of an animation.
struct SignedScale {
  double range = 1.0;    ///< the colours run from -range to +range
  bool decibel = false;  ///< by level, 60 dB to each side of the middle, sign by colour
};

/// A colour range for signed values: the 99.5th percentile of |value| over the values
/// that are finite and not zero, rounded up to a round number; 1 if there are none.
[[nodiscard]] double symmetric_range(std::span<const float> values);

/// Draws moments of one field over one slice, all in the same size and colours, with the
/// tissues' outlines. draw() may be called from several threads at once.
class MomentPictures {
public:
  /// \param result  must outlive the object
  /// \param plan    which field, in which units, and the stride of the moments
  /// \throws std::invalid_argument  A range that is not finite and above 0, a stride
  /// below
  ///         1, a result that is no slice. FontError.
  MomentPictures(const Result& result, const SnapshotPlan& plan, const SignedScale& scale,
                 const Look& look);
  ~MomentPictures();
  MomentPictures(const MomentPictures&) = delete;
  MomentPictures& operator=(const MomentPictures&) = delete;

  /// \param values  (ny_kept, nx_kept)  \param title  with the time stamp
  /// \throws std::invalid_argument  Another number of values.
  [[nodiscard]] Canvas draw(std::span<const float> values,
                            const std::string& title) const;

private:
  struct State;
  std::unique_ptr<State> state_;
};

/// "Ez at 3.210 ns"
[[nodiscard]] std::string moment_title(const std::string& field, double time);

/// One moment as a PNG file.
/// \param range  the bar runs from -range to +range; empty: symmetric_range()
/// \throws std::invalid_argument  \see MomentPictures. WriteError, FontError.
void draw_snapshot(const Result& result, const Snapshot& snapshot,
                   const SnapshotPlan& plan, const std::filesystem::path& path,
                   std::optional<double> range = std::nullopt, const Look& look = {});

}  // namespace torsowave::postproc
