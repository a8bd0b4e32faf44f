/// \file
/// \brief What a film shows of one result: its moments as values.

#pragma once

#include <cstddef>
#include <memory>
#include <string>

#include "app/film.hpp"

namespace torsowave::app {

/// The result lacks what a film needs. \throws scenarios::InputError
[[noreturn]] void refuse_film(const std::string& problem);

/// One side of the film: its moments as values, and how they are drawn.
class Scene {
public:
  virtual ~Scene() = default;

  /// The values at a moment [s], or at a share of the oscillation; one thread at a time.
  [[nodiscard]] virtual postproc::Snapshot moment(double when) = 0;
  [[nodiscard]] virtual std::string title(const postproc::Snapshot& moment) const = 0;

  /// A top for the colour scale.
  [[nodiscard]] virtual double usual_range() = 0;

  /// The last moment of which more than a fiftieth reaches a level, or any of it in mode
  /// 1D; infinite where moments are of an oscillation.
  [[nodiscard]] virtual double seen_until(double level) = 0;

  [[nodiscard]] const postproc::SnapshotPlan& plan() const { return plan_; }

protected:
  explicit Scene(postproc::SnapshotPlan plan) : plan_(std::move(plan)) {}

private:
  postproc::SnapshotPlan plan_;
};

/// The top of a scale in levels: a usual_range() rounded up to 5 dB re 1.
[[nodiscard]] double level_top(double usual_range);

/// What a film shows where nobody says: snapshots, else a field.
/// \throws scenarios::InputError  There are neither.
[[nodiscard]] std::string usual_quantity(const FilmSide& side);

/// \param side      what it refers to outlives the scene
/// \param quantity  "snapshot" or a field  \param frequency  of the field [Hz]
/// \throws scenarios::InputError  It is not stored.
[[nodiscard]] std::unique_ptr<Scene> scene_of(const FilmSide& side,
                                              const std::string& quantity,
                                              double frequency);

}  // namespace torsowave::app
